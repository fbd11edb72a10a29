package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"obvert/cmd/obvert/internal/man"
)

var update = flag.Bool("update", false, "write what is generated of the command: docs/man")

const manDir = "../../docs/man"

// everyCommand calls do for each command but help.
func everyCommand(do func(*cobra.Command)) {
	c, _, _ := quiet()
	var walk func(*cobra.Command)
	walk = func(cmd *cobra.Command) {
		if cmd.Name() == "help" {
			return
		}
		do(cmd)
		for _, sub := range cmd.Commands() {
			walk(sub)
		}
	}
	walk(rootCommand(c))
}

// TestHelpFits reads the help of every command: a short text, an example unless it is a page of help alone, and no line wider
// than a terminal.
func TestHelpFits(t *testing.T) {
	n := 0
	everyCommand(func(cmd *cobra.Command) {
		n++
		if cmd.Short == "" || strings.HasSuffix(cmd.Short, ".") {
			t.Errorf("%s: its short text is %q", cmd.CommandPath(), cmd.Short)
		}
		topic := !cmd.Runnable() && !cmd.HasSubCommands()
		if cmd.Example == "" && !topic {
			t.Errorf("%s has no example", cmd.CommandPath())
		}
		var b bytes.Buffer
		cmd.SetOut(&b)
		if err := cmd.Help(); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if w := columns(strings.TrimRight(line, "\n")); w > usualWidth {
				t.Errorf("%s: %d columns: %s", cmd.CommandPath(), w, line)
			}
		}
	})
	if n < 10 {
		t.Errorf("only %d commands", n)
	}
}

// TestExamplesRun runs every line of every example in a folder that has the demos: none ends as one that cannot be used.
func TestExamplesRun(t *testing.T) {
	work := t.TempDir()
	for name, from := range map[string]string{"demo": "../../demo", "mylines/north": "testdata/flat", "myrack": "testdata/rack"} {
		if err := os.CopyFS(filepath.Join(work, name), os.DirFS(from)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.RemoveAll(filepath.Join(work, "mylines/north/rack")); err != nil { // two racks may not have the same names
		t.Fatal(err)
	}
	sh, err := exec.LookPath("sh")
	if err != nil {
		t.Skip("there is no shell to run examples by")
	}
	ran := 0
	everyCommand(func(cmd *cobra.Command) {
		for line := range strings.Lines(strings.ReplaceAll(cmd.Example, "\\\n", "")) {
			line = strings.TrimSpace(line)
			if line == "" || strings.HasPrefix(line, "#") {
				continue
			}
			ran++
			run := exec.CommandContext(context.Background(), sh, "-c", line)
			run.Dir = work
			out, err := run.CombinedOutput()
			if code := run.ProcessState.ExitCode(); err != nil && code != exitFails {
				t.Errorf("%s: %s: exit status %d\n%s", cmd.CommandPath(), line, code, out)
			}
		}
	})
	if ran < 20 {
		t.Errorf("only %d examples", ran)
	}
}

// pages are the manual as it follows from the help.
func pages() map[string][]byte {
	c, _, _ := quiet()
	return man.Pages(rootCommand(c), man.Source{Version: "Obvert " + version, Date: released, Manual: "Obvert manual"})
}

// TestManual fails where docs/man is not what follows from the help, with -update it writes it.
func TestManual(t *testing.T) {
	want := pages()
	if *update {
		if err := os.MkdirAll(manDir, 0o755); err != nil {
			t.Fatal(err)
		}
		for name, text := range want {
			if err := os.WriteFile(filepath.Join(manDir, name), text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	there, err := os.ReadDir(manDir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range there {
		if want[e.Name()] == nil {
			t.Errorf("%s/%s is a page of no command", manDir, e.Name())
			if *update {
				_ = os.Remove(filepath.Join(manDir, e.Name()))
			}
		}
	}
	for name, text := range want {
		got, err := os.ReadFile(filepath.Join(manDir, name))
		if err != nil || !bytes.Equal(got, text) {
			t.Errorf("%s is out of date: run go test ./cmd/obvert -run TestManual -update", name)
		}
	}
	if !bytes.Equal(pages()["obvert.1"], want["obvert.1"]) {
		t.Error("two runs write two manuals")
	}
}

// TestManualReads has the manual checked by mandoc, and laid out at 80 columns: no complaint, no line wider, nothing lost.
func TestManualReads(t *testing.T) {
	mandoc, err := exec.LookPath("mandoc")
	if err != nil {
		const word = "mandoc is not installed: the manual was not checked"
		if os.Getenv("CI") == "true" {
			t.Fatal(word)
		}
		t.Skip(word)
	}
	dir := t.TempDir()
	var files []string
	all := pages()
	for name, text := range all {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, path)
	}
	slices.Sort(files)
	if out, err := exec.Command(mandoc, append([]string{"-Tlint", "-Wstyle"}, files...)...).CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("mandoc: %v\n%s", err, out)
	}
	for _, path := range files {
		out, err := exec.Command(mandoc, "-Tutf8", "-Owidth=78", path).Output()
		if err != nil {
			t.Fatal(err)
		}
		plain := overstruck(string(out))
		for line := range strings.Lines(plain) {
			if n := columns(strings.TrimRight(line, "\n")); n > usualWidth+3 {
				t.Errorf("%s: %d columns: %s", filepath.Base(path), n, line)
			}
		}
	}
	text, err := exec.Command(mandoc, "-Tutf8", filepath.Join(dir, "obvert-study.1")).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"--no-fail", "obvert study demo/ridge --out out --date 2026-11-25", "Write report, result and schedule", "obvert(1)"} {
		if !strings.Contains(overstruck(string(text)), want) {
			t.Errorf("obvert-study(1) lacks %q", want)
		}
	}
}

// overstruck takes away the letters that a terminal shows twice to show them bold or underlined.
func overstruck(s string) string {
	var r []rune
	for _, c := range s {
		if c == '\b' {
			r = r[:len(r)-1]
			continue
		}
		r = append(r, c)
	}
	return string(r)
}
