package document

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

var sample = Fault{File: "line.toml", Line: 12, Column: 3, Key: `run "Ridge".bore`, What: `"450" is not a length`, Understood: "no unit", Hint: `write "450 mm"`}

func TestFaultString(t *testing.T) {
	for _, c := range []struct {
		f    Fault
		want string
	}{
		{sample, `line.toml:12:3: run "Ridge".bore: "450" is not a length: no unit. Write "450 mm".`},
		{Fault{File: "a.csv", Line: 3, Severity: WarningSeverity, ID: "profile.backstep", What: "a backstep of 0.4 m", Hint: "the points were sorted"},
			"a.csv:3: warning profile.backstep: a backstep of 0.4 m. The points were sorted."},
		{Fault{File: "a.csv", Severity: RemarkSeverity, What: "read as Windows-1252."}, "a.csv: remark: read as Windows-1252."},
		{Fault{What: "x", Understood: "y?"}, "x: y?"}, {Fault{Understood: "y"}, "y."}, {Fault{}, ""},
	} {
		if got := c.f.String(); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

// The spaces that hold a figure and its unit together are shown as they are; a
// file's name may not work the terminal.
func TestFaultsAreShown(t *testing.T) {
	d := parsed(t, "a = 1")
	d.Root().Report("a", Fault{What: "understood as −100\u00a0mm, 1\u202f000 of them", Hint: "\x1b[31m"})
	want := "t.toml:1:5: a: understood as −100\u00a0mm, 1\u202f000 of them. (U+001B)[31m."
	if got := d.Faults().Error(); !strings.HasSuffix(got, want[len("t.toml"):]) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if got := (Fault{File: "a\x1b[2J.toml", Line: 1, What: "x"}).String(); got != "a(U+001B)[2J.toml:1: x." {
		t.Errorf("%q", got)
	}
}

// One cause, one fault: nothing is said of the keys of a document that is no text,
// nor of those in a table that stands where a list belongs.
func TestNoEchoes(t *testing.T) {
	for _, text := range []string{"\xff\xfea\x00", "a = \"2 \xb0C\"\n", strings.Repeat("#", mostBytes+1)} {
		d, faults := Parse("a.toml", []byte(text))
		d.Root().Text("name", true)
		d.Root().Report("", Fault{What: "there is neither a nor b"})
		d.Root().Finish()
		if len(faults) != 1 || len(d.Faults()) != 0 {
			t.Errorf("%v, then %v", faults, d.Faults())
		}
	}
	for _, text := range []string{"[tank]\nlevel = 1\n", "tank = { level = 1 }\n"} {
		d := parsed(t, text)
		d.Root().List("tank", true)
		d.Root().Finish()
		told(t, text, d.Faults(), "1:…a list of tables")
	}
	d := parsed(t, "[[site]]\nlevel = 1\n[[site]]\nlevel = 2\n")
	d.Root().Sub("site", true)
	d.Root().Finish()
	told(t, "two sites", d.Faults(), "1:3: site: should be one table")
}

func TestFaults(t *testing.T) {
	w, r := Fault{Severity: WarningSeverity, What: "w"}, Fault{Severity: RemarkSeverity, What: "r"}
	if (Faults{w, r}).Err() != nil || (Faults)(nil).Err() != nil {
		t.Error("warnings and remarks are an error")
	}
	err := Faults{w, sample, r}.Err()
	var only Faults
	if !errors.As(err, &only) || len(only) != 1 || err.Error() != sample.String() {
		t.Errorf("got %v", err)
	}
	if got := (Faults{w, sample, r}).Only(RemarkSeverity); len(got) != 1 || got[0].What != "r" {
		t.Error(got)
	}
	in := Faults{{File: "b", Line: 1}, {File: "a", Line: 10, Column: 2}, {File: "a", Line: 10, Column: 1}, {File: "a", Line: 2}, {File: "a"}}
	var order []string
	for _, f := range in.Sorted() {
		order = append(order, f.place())
	}
	if got := strings.Join(order, " "); got != "a a:2 a:10:1 a:10:2 b:1" || in[0].File != "b" {
		t.Errorf("sorted: %s", got)
	}
	for s, want := range map[Severity]string{FaultSeverity: "fault", WarningSeverity: "warning", RemarkSeverity: "remark", 9: "severity 9"} {
		if s.String() != want {
			t.Error(s)
		}
	}
}

func TestRender(t *testing.T) {
	var b bytes.Buffer
	if err := (Faults{sample, sample}).Render(&b, 60); err != nil {
		t.Fatal(err)
	}
	one := "line.toml:12:3: run \"Ridge\".bore: \"450\" is not a length: no\n    unit. Write \"450 mm\".\n"
	if b.String() != one+one {
		t.Errorf("got\n%s", b.String())
	}
	if err := sample.Render(failing{}, 80); err == nil {
		t.Error("a failing writer goes unseen")
	}
	rapid.Check(t, func(t *rapid.T) {
		f := Fault{File: rapid.String().Draw(t, "file"), Line: 1, What: strings.Join(strings.Fields(rapid.StringN(0, 300, -1).Draw(t, "what")), " "), Hint: `write "450 mm"`}
		f.File = strings.Join(strings.Fields(f.File), "_")
		width := rapid.IntRange(20, 100).Draw(t, "width")
		var b bytes.Buffer
		f.Render(&b, width)
		for line := range strings.SplitSeq(strings.TrimSuffix(b.String(), "\n"), "\n") {
			if n := utf8.RuneCountInString(line); n > width {
				t.Fatalf("a line of %d in %d columns: %q", n, width, line)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if squeeze(b.String()) != squeeze(f.String()) {
			t.Fatalf("text is lost: %q from %q", b.String(), f.String())
		}
	})
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestNearestIsTheSame(t *testing.T) {
	if got, ok := Nearest("bor", []string{"wall", "bore"}); got != "bore" || !ok {
		t.Error(got, ok)
	}
	if a, ok := Nearest("zzz", []string{"bore"}); ok {
		t.Error(a)
	}
}
