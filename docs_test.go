package obvert_test

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"
)

// A fenced block marked console in README or docs is run, in a folder of the page's own that holds a copy of demo/. A line that
// begins with "$ " is given to sh; the lines under it are what it must print: a line of … stands for any lines, … inside one for
// any text. Its exit status must be 0, or what a comment "# exit 2" at its end says.

// command is one command of a page.
type docCommand struct {
	line   int
	text   string
	status int
	want   []string
}

var exitComment = regexp.MustCompile(`\s+# exit (\d+)$`)

// consoles reads the console blocks of a page, and every other place that names an obvert command.
func consoles(page string) (run []docCommand, named map[int]string) {
	named = map[int]string{}
	fence, console := false, false
	for i, l := range strings.Split(page, "\n") {
		if strings.HasPrefix(l, "```") {
			fence = !fence
			console = fence && strings.TrimSpace(l) == "```console"
			continue
		}
		switch {
		case fence && console:
			if text, ok := strings.CutPrefix(l, "$ "); ok {
				c := docCommand{line: i + 1, text: text}
				if m := exitComment.FindStringSubmatch(text); m != nil {
					fmt.Sscan(m[1], &c.status)
					c.text = strings.TrimSuffix(text, m[0])
				}
				run = append(run, c)
			} else if text, ok := strings.CutPrefix(l, "> "); ok && len(run) > 0 && len(run[len(run)-1].want) == 0 {
				run[len(run)-1].text += "\n" + text
			} else if len(run) > 0 {
				k := len(run) - 1
				run[k].want = append(run[k].want, strings.TrimRight(l, " "))
			}
		case fence:
			if strings.HasPrefix(strings.TrimPrefix(l, "$ "), "obvert ") {
				named[i+1] = strings.TrimPrefix(l, "$ ")
			}
		default:
			for j, code := range strings.Split(l, "`") {
				if j%2 == 1 && strings.HasPrefix(code, "obvert ") {
					named[i+1] = code
				}
			}
		}
	}
	return run, named
}

// printed tells whether the lines printed are those wanted.
func printed(got, want []string) bool {
	if len(want) == 0 {
		return len(got) == 0
	}
	if want[0] == "…" {
		for k := 0; k <= len(got); k++ {
			if printed(got[k:], want[1:]) {
				return true
			}
		}
		return false
	}
	return len(got) > 0 && alike(got[0], want[0]) && printed(got[1:], want[1:])
}

// alike compares one line, in which … stands for any text.
func alike(got, want string) bool {
	parts := strings.Split(want, "…")
	if len(parts) == 1 {
		return got == want
	}
	if !strings.HasPrefix(got, parts[0]) {
		return false
	}
	got = got[len(parts[0]):]
	for _, p := range parts[1 : len(parts)-1] {
		i := strings.Index(got, p)
		if i < 0 {
			return false
		}
		got = got[i+len(p):]
	}
	return strings.HasSuffix(got, parts[len(parts)-1])
}

func lines(s string) []string {
	s = strings.TrimRight(strings.ReplaceAll(s, "\u00a0", " "), "\n") // no-break spaces are set as spaces
	if s == "" {
		return nil
	}
	out := strings.Split(s, "\n")
	for i := range out {
		out[i] = strings.TrimRight(out[i], " ")
	}
	return out
}

// built is the folder of the command, built once.
func built(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("go", "build", "-o", dir+"/", "./cmd/obvert").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return dir
}

// docPages are README and every page of docs.
func docPages(t *testing.T) []string {
	t.Helper()
	pages := []string{"README.md"}
	err := filepath.WalkDir("docs", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(path, ".md") {
			pages = append(pages, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

// TestDocsCommands runs what the pages show.
func TestDocsCommands(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the pages are written for sh")
	}
	bin := built(t)
	ran := 0
	for _, page := range docPages(t) {
		data, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		run, _ := consoles(string(data))
		if len(run) == 0 {
			continue
		}
		ran += len(run)
		t.Run(page, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			if err := os.CopyFS(filepath.Join(dir, "demo"), os.DirFS("demo")); err != nil {
				t.Fatal(err)
			}
			for _, c := range run {
				ctx, done := context.WithTimeout(context.Background(), 2*time.Minute)
				cmd := exec.CommandContext(ctx, "sh", "-c", c.text)
				cmd.Dir = dir
				cmd.Env = append(os.Environ(), "PATH="+bin+":"+os.Getenv("PATH"), "COLUMNS=80", "NO_COLOR=1", "TERM=dumb")
				out, err := cmd.CombinedOutput()
				done()
				status := 0
				if err != nil {
					status = cmd.ProcessState.ExitCode()
				}
				where := fmt.Sprintf("%s:%d", page, c.line)
				if status != c.status {
					t.Fatalf("%s: exit status %d, want %d\n$ %s\n%s", where, status, c.status, c.text, out)
				}
				if got := lines(string(out)); !printed(got, lines(strings.Join(c.want, "\n"))) {
					t.Errorf("%s: the page shows other words\n$ %s\nprinted:\n%s\npage:\n%s", where, c.text, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
				}
			}
		})
	}
	if ran == 0 {
		t.Error("no page shows a command that is run")
	}
}

// TestDocsNameRealCommands looks up every obvert command and flag that the pages name without running it.
func TestDocsNameRealCommands(t *testing.T) {
	bin := filepath.Join(built(t), "obvert")
	helps := map[string]string{}
	help := func(words ...string) string {
		key := strings.Join(words, " ")
		if _, ok := helps[key]; !ok {
			out, err := exec.Command(bin, append(words, "--help")...).CombinedOutput()
			helps[key] = string(out)
			if err != nil {
				helps[key] = ""
			}
		}
		return helps[key]
	}
	for _, page := range docPages(t) {
		data, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		_, named := consoles(string(data))
		for line, text := range named {
			words := strings.Fields(text)
			if len(words) < 2 || !regexp.MustCompile(`^[a-z]+$`).MatchString(words[1]) {
				continue // "obvert COMMAND --help"
			}
			text := help(words[1])
			if text == "" || !strings.Contains(text, "obvert "+words[1]) {
				t.Errorf("%s:%d: there is no command %q", page, line, words[1])
				continue
			}
			if len(words) > 2 && regexp.MustCompile(`^[a-z]+$`).MatchString(words[2]) && strings.Contains(text, "obvert "+words[1]+" "+words[2]) {
				text += help(words[1], words[2])
			}
			for _, w := range words[2:] {
				flag, _, _ := strings.Cut(w, "=")
				if strings.HasPrefix(flag, "--") && flag != "--help" && !regexp.MustCompile(regexp.QuoteMeta(flag)+`\b`).MatchString(text) {
					t.Errorf("%s:%d: %s has no flag %s", page, line, strings.Join(words[:2], " "), flag)
				}
			}
		}
	}
}

// TestDocsRule breaks the comparison on purpose.
func TestDocsRule(t *testing.T) {
	for _, c := range []struct {
		got, want string
		same      bool
	}{
		{"a\nb", "a\nb", true}, {"a\nb", "a", false}, {"a", "a\nb", false}, {"a\nb\nc", "a\n…", true}, {"a\nb\nc", "…\nc", true},
		{"a\nb\nc", "a\n…\nd", false}, {"12.3 m wide", "… m wide", true}, {"12.3 m wide", "12… wide", true}, {"12.3 m", "13… m", false}, {"", "", true}, {"", "…", true},
	} {
		if printed(lines(c.got), lines(c.want)) != c.same {
			t.Errorf("%q against %q: %t", c.got, c.want, !c.same)
		}
	}
	run, named := consoles("x `obvert check LINE` y\n```console\n$ obvert study a # exit 1\none\n$ cat <<E\n> two\n> E\n```\n```\nobvert rack list\n```\n")
	if len(run) != 2 || run[0].status != 1 || run[0].want[0] != "one" || run[1].text != "cat <<E\ntwo\nE" || len(named) != 2 {
		t.Errorf("%+v %v", run, named)
	}
}
