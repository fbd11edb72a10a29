package main

import (
	"bufio"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestImportAsks answers the questions of an import as on a terminal: a wrong word is asked again, an empty answer is assumed, and
// without a yes nothing is written.
func TestImportAsks(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "s.csv")
	if err := os.WriteFile(file, []byte("Chainage,Level\n0,100\n500,110\n900,105\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		answers string
		status  int
		written bool
	}{
		"yes":       {"m\nfurlong\nm\ntop\nground\n1.2 m\nstation\noutfall\n20 L/s\nEN 545 C40 DN 200\ny\n", exitFine, true},
		"no":        {"m\nm\ninvert\n\n\n\n\nn\n", exitFine, false},
		"ends":      {"m\nm\ninvert\n", exitBad, false},
		"no answer": {"", exitBad, false},
	} {
		c2, _, messages := quiet()
		c2.in = input{from: bufio.NewReader(strings.NewReader(c.answers)), asks: true}
		to := filepath.Join(dir, name)
		if got := run(context.Background(), []string{"import", file, "--to", to}, c2); got != c.status {
			t.Errorf("%s: status %d, want %d: %s", name, got, c.status, messages)
		}
		doc, err := os.ReadFile(filepath.Join(to, "line.toml"))
		if (err == nil) != c.written {
			t.Errorf("%s: %v", name, err)
		}
		if c.written && (!strings.Contains(string(doc), `cover = "1.2 m"`) || !strings.Contains(string(doc), "[[outfall]]") || !strings.Contains(string(doc), `"20 L/s"`)) {
			t.Errorf("%s:\n%s", name, doc)
		}
	}
}
