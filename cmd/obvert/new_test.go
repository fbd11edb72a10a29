package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestNewAsks answers the questions of a terminal: each answer with a unit is told as it was understood, a bad one asked again.
func TestNewAsks(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "asked")
	c, out, messages := quiet()
	answers := []string{"East main", "", "2 miles", "2 km", "100 m, 131 m, 118 m", "EN 545 C40 DN 301", "EN 545 C40 DN 300", "station", "tank", "40 L/s", "99.5 m", "",
		"Typical combination DN 100"}
	c.in = input{from: bufio.NewReader(strings.NewReader(strings.Join(answers, "\n") + "\n")), asks: true}
	if got := run(context.Background(), []string{"new", dir}, c); got != exitFine {
		t.Fatalf("status %d\n%s", got, messages)
	}
	said := strings.Join(strings.Fields(messages.String()), " ")
	for _, want := range []string{"Name of the line [Asked]:", `"2 miles" is not a length`, "understood: 2000 m", "understood: 0+000 100.00 m, 1+000 131.00 m, 2+000 118.00 m",
		`pipe size "EN 545 C40 DN 301" is not known`, "understood: EN 545 C40 DN 300, bore", "On the rack: Typical"} {
		if !strings.Contains(strings.ReplaceAll(said, "\u00a0", " "), want) {
			t.Errorf("not said: %s\n%s", want, messages)
		}
	}
	if !strings.Contains(out.String(), "East main") {
		t.Errorf("printed %s", out)
	}
	doc, err := os.ReadFile(filepath.Join(dir, "line.toml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`name = "East main"`, `size = "EN 545 C40 DN 300"`, `type = "Typical combination DN 100"`, `sump_level = "99.5 m"`} {
		if !strings.Contains(string(doc), want) {
			t.Errorf("no %s in\n%s", want, doc)
		}
	}
}

// TestNewStopped leaves a question without an answer: by Ctrl-C while it waits, and by the end of the input. Nothing is left.
func TestNewStopped(t *testing.T) {
	for _, how := range []string{"interrupt", "end of input"} {
		parent := t.TempDir()
		c, _, messages := quiet()
		waits, writer := io.Pipe() // delivers nothing until it is closed
		c.in = input{from: bufio.NewReader(waits), asks: true}
		ctx, cancel := context.WithCancel(context.Background())
		want := exitStopped
		if how == "interrupt" {
			time.AfterFunc(50*time.Millisecond, cancel)
		} else {
			want = exitBad
			writer.Close()
		}
		if got := run(ctx, []string{"new", filepath.Join(parent, "x")}, c); got != want {
			t.Errorf("%s: status %d, want %d", how, got, want)
		}
		cancel()
		writer.Close()
		if !strings.Contains(messages.String(), "nothing was written") {
			t.Errorf("%s: said %q", how, messages)
		}
		if _, err := os.Stat(filepath.Join(parent, "x")); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: the folder is there: %v", how, err)
		}
		if left, err := os.ReadDir(parent); err != nil || len(left) != 0 {
			t.Errorf("%s: left behind %v %v", how, left, err)
		}
	}
}
