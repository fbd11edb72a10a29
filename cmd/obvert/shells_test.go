package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// shell finds a shell. Without it the test is skipped, but not where CI is set: there it fails.
func shell(t *testing.T, name string, files ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	for _, f := range files {
		if err == nil {
			_, err = os.Stat(f)
		}
	}
	if err == nil {
		return path
	}
	word := fmt.Sprintf("%s is not installed with what it completes by: its completion was not run", name)
	if os.Getenv("CI") == "true" {
		t.Fatal(word)
	}
	t.Skip(word)
	return ""
}

// bashCompletion is the file of Debian's package bash-completion.
const bashCompletion = "/usr/share/bash-completion/bash_completion"

// typed are command lines as they stand when Tab is pressed, with words that must be offered and one that must not.
var typed = []struct {
	words []string // the last one is being typed
	want  []string
	not   string
}{
	{[]string{"ch"}, []string{"check"}, "study"},
	{[]string{"study", "f"}, []string{"flat"}, "bench"},
	{[]string{"study", ""}, []string{"flat", "lines/north"}, "rack"},
	{[]string{"check", "lines/"}, []string{"lines/north"}, "flat"},
	{[]string{"schema", ""}, []string{"line", "rack", "bench"}, "flat"},
	{[]string{"units", "450 mm", "--to", "i"}, []string{"in"}, "kPa"},
	{[]string{"rack", "show", "Ced", "--rack", "rack"}, nil, "flat"},
}

// TestShellsComplete presses Tab in bash, zsh and fish, each with the script the command prints for it.
func TestShellsComplete(t *testing.T) {
	work := t.TempDir()
	for name, from := range map[string]string{"flat": "testdata/flat", "lines/north": "testdata/flat", "rack": "testdata/rack"} {
		if err := os.CopyFS(filepath.Join(work, name), os.DirFS(from)); err != nil {
			t.Fatal(err)
		}
	}
	env := append(os.Environ(), "HOME="+work, "TERM=dumb") // TestMain put the command on the path
	script := func(t *testing.T, shell string) string {
		t.Helper()
		cmd := exec.Command("obvert", "completion", shell)
		cmd.Env = env
		text, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "_obvert")
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, s := range []struct {
		name  string
		files []string
		ask   func(path, file string, words []string) *exec.Cmd
	}{
		{"bash", []string{bashCompletion}, func(path, file string, words []string) *exec.Cmd {
			words = append([]string{"obvert"}, asTyped(words)...)
			return exec.Command(path, "--norc", "-c", fmt.Sprintf(`source %s; source %s
compopt() { :; }
COMP_LINE=%s; COMP_POINT=${#COMP_LINE}; COMP_WORDS=(%s); COMP_CWORD=%d; COMP_TYPE=9
__start_obvert obvert
printf '%%s\n' "${COMPREPLY[@]}"`, bashCompletion, file, quoteAll([]string{strings.Join(words, " ")})[0], strings.Join(quoteAll(words), " "), len(words)-1))
		}},
		{"zsh", nil, func(path, file string, words []string) *exec.Cmd {
			// The completion system asks the script's function; what that hands over is caught, and parted from what does not
			// begin as typed, which is the system's own part.
			return exec.Command(path, "-f", "-c", fmt.Sprintf(`compdef() { :; }
source %s
_describe() { local a; for a in "$@"; do case $a in completions) print -rl -- ${(M)completions:#${words[-1]}*};; esac; done }
_arguments() { :; }
words=(%s); CURRENT=%d
_obvert`, file, strings.Join(quoteAll(append([]string{"obvert"}, words...)), " "), len(words)+1))
		}},
		{"fish", nil, func(path, file string, words []string) *exec.Cmd {
			line := "obvert " + strings.Join(asTyped(words), " ")
			return exec.Command(path, "--no-config", "-c", fmt.Sprintf("source %s; complete -C '%s'", file, line))
		}},
	} {
		t.Run(s.name, func(t *testing.T) {
			path := shell(t, s.name, s.files...)
			file := script(t, s.name)
			for _, c := range typed {
				cmd := s.ask(path, file, c.words)
				cmd.Dir, cmd.Env = work, env
				out, err := cmd.CombinedOutput()
				if err != nil && s.name != "zsh" {
					t.Errorf("%q: %v\n%s", c.words, err, out)
				}
				var got []string
				for line := range strings.Lines(string(out)) {
					word, _, _ := strings.Cut(strings.TrimSpace(line), "\t")
					word, _, _ = strings.Cut(word, "  ") // bash puts what a word is about behind it
					if s.name == "zsh" {
						word, _, _ = strings.Cut(word, ":")
					}
					got = append(got, strings.ReplaceAll(strings.TrimSpace(word), `\ `, " "))
				}
				for _, w := range c.want {
					if !slices.Contains(got, w) {
						t.Errorf("%q: %q is not offered in\n%s", c.words, w, out)
					}
				}
				if slices.Contains(got, c.not) {
					t.Errorf("%q: %q is offered", c.words, c.not)
				}
			}
		})
	}
}

// quoteAll puts words in a shell's single quotation marks.
func quoteAll(words []string) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
	}
	return out
}

// asTyped are the words as they stand on the line: those with spaces in quotation marks.
func asTyped(words []string) []string {
	out := slices.Clone(words)
	for i, w := range out {
		if i < len(out)-1 && strings.Contains(w, " ") {
			out[i] = `"` + w + `"`
		}
	}
	return out
}
