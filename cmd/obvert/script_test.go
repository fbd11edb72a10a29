package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"obvert/bench"
	"obvert/deliver"
	"obvert/physics/valve"
)

// TestMain lets the scripts call the command without building it.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"obvert": main})
}

// TestScripts runs testdata/script: each command with good and bad input, its text and its exit status.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("NO_COLOR", "")
			for name, from := range map[string]string{"bench": "../../demo/bench", "flat": "testdata/flat", "rack": "testdata/rack"} {
				if err := os.CopyFS(filepath.Join(e.WorkDir, name), os.DirFS(from)); err != nil {
					return err
				}
			}
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status, "fifo": fifo, "columns80": narrow, "swap": swap,
		},
	})
}

// quiet is a console whose text is kept.
func quiet() (c *console, out, messages *bytes.Buffer) {
	out, messages = &bytes.Buffer{}, &bytes.Buffer{}
	return &console{out: bufio.NewWriter(out), err: messages, width: usualWidth}, out, messages
}

// status WANT ARGS… runs the command in the script's folder and compares the exit status with the one wanted.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: status WANT ARGS…")
	}
	err := ts.Exec("obvert", args[1:]...)
	got := "0"
	if err != nil {
		got = strings.TrimPrefix(err.Error(), "exit status ")
	}
	if got != args[0] {
		ts.Fatalf("obvert %s: exit status %s, want %s", strings.Join(args[1:], " "), got, args[0])
	}
}

// narrow fails where the last command printed a line wider than 80 columns.
func narrow(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range []string{"stdout", "stderr"} {
		for line := range strings.Lines(ts.ReadFile(name)) {
			if n := columns(strings.TrimRight(line, "\n")); n > usualWidth {
				ts.Fatalf("%d columns: %s", n, line)
			}
		}
	}
}

// swap FILE OLD NEW changes one text in a file; it must be there.
func swap(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: swap FILE OLD NEW")
	}
	text := ts.ReadFile(args[0])
	if !strings.Contains(text, args[1]) {
		ts.Fatalf("%s has no %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.ReplaceAll(text, args[1], args[2])), 0o644))
}

// TestStopped stops a study before it begins: the status is that of an interrupt and no file is left.
func TestStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	out := filepath.Join(t.TempDir(), "out")
	c, _, messages := quiet()
	if got := run(ctx, []string{"study", "testdata/flat", "--out", out}, c); got != exitStopped {
		t.Errorf("status %d, want %d", got, exitStopped)
	}
	if !strings.Contains(messages.String(), "stopped; nothing was written") {
		t.Errorf("said %q", messages)
	}
	if _, err := os.Stat(out); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the folder is there: %v", err)
	}
}

// TestWriteAllOrNothing writes where one file cannot be made: neither the folder nor anything beside it is left.
func TestWriteAllOrNothing(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "out")
	if err := writeAll(dir, []output{{"a", []byte("1")}, {"a/b", nil}}); err == nil {
		t.Fatal("no error")
	}
	left, err := os.ReadDir(parent)
	if err != nil || len(left) != 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
	if err := writeAll(dir, []output{{"a", []byte("1")}}); err != nil {
		t.Fatal(err)
	}
	if err := writeAll(dir, []output{{"a", []byte("2")}, {"a/b", nil}}); err == nil {
		t.Fatal("no error")
	}
	if data, err := os.ReadFile(filepath.Join(dir, "a")); err != nil || string(data) != "1" {
		t.Errorf("the old file is %q, %v", data, err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// TestColourSaysNothingAlone strips the escape codes of coloured text: it must be the plain text.
func TestColourSaysNothingAlone(t *testing.T) {
	text := func(colour bool) string {
		c, out, messages := quiet()
		c.colour = colour
		run(context.Background(), []string{"study", "testdata/flat"}, c)
		if messages.Len() > 0 {
			t.Fatal(messages)
		}
		return out.String()
	}
	plain, coloured := text(false), text(true)
	if plain == coloured || strings.Contains(plain, "\x1b") {
		t.Error("colour where none was asked for, or none where it was")
	}
	var b strings.Builder
	for i := 0; i < len(coloured); i++ {
		if coloured[i] == '\x1b' {
			i += strings.IndexByte(coloured[i:], 'm')
			continue
		}
		b.WriteByte(coloured[i])
	}
	if b.String() != plain {
		t.Errorf("without its codes the coloured text differs:\n%s\n%s", b.String(), plain)
	}
}

// TestWrap breaks text at spaces, never at no-break spaces, and long words where it must.
func TestWrap(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  string
	}{
		{"one two three", 7, "one two\nthree"},
		{"0.14\u00a0±\u00a00.01 m", 12, "0.14\u00a0±\u00a00.01\nm"},
		{"abcdefgh ij", 5, "abcde\nfgh\nij"},
		{"äöü", 10, "äöü"},
		{"", 10, ""},
	} {
		if got := strings.Join(wrapLines(c.text, c.width, c.width), "\n"); got != c.want {
			t.Errorf("%q at %d: %q, want %q", c.text, c.width, got, c.want)
		}
	}
}

// TestTableFits puts more into a table than the page holds: nothing is lost, nothing is wider than the page.
func TestTableFits(t *testing.T) {
	c, out, _ := quiet()
	long := "a valve whose name is rather long and goes on for more than sixty letters"
	(&table{head: []string{"valve", "case one", "case two"}, rows: [][]string{{long, "tight +1.00↑", strings.Repeat("word ", 20)}}}).print(c)
	if err := c.flush(); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(out.String()) {
		if n := columns(strings.TrimRight(line, "\n")); n > usualWidth {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	if n := strings.Count(out.String(), "word"); n != 20 {
		t.Errorf("%d of 20 words are left", n)
	}
}

// TestKeys holds the keys of bench and rack to the form of those of the result.
func TestKeys(t *testing.T) {
	type inner struct {
		Flow  float64 `unit:"m³/s"`
		Kind  bench.MarkKind
		Bound valve.Bound
	}
	var b bytes.Buffer
	err := deliver.Encode(&b, struct {
		LettingGo   float64 `unit:"Pa"`
		NPSHMargin  float64 `unit:"m"`
		Sensitivity float64 `unit:"1/K"`
		Count       int     `unit:"1"`
		Inner       []inner
		None        *inner
	}{1, 2, 3, 4, []inner{{Flow: 5, Bound: valve.MoreThan}}, nil})
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Join(strings.Fields(b.String()), "")
	if want := `{"letting_go_pa":1,"npsh_margin_m":2,"sensitivity_per_k":3,"count":4,"inner":[{"flow_m3_s":5,"kind":"change","bound":"morethan"}],"none":null}`; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if err := deliver.Encode(&b, struct{ X float64 }{math.NaN()}); err == nil {
		t.Error("a figure that is not finite was written")
	}
}
