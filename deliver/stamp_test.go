package deliver

import (
	"strings"
	"testing"

	"obvert/line"
	"obvert/study"
)

// TestStamp holds that a stamp tells all it is asked for, says where something was not given, and takes no date from the clock.
func TestStamp(t *testing.T) {
	l := &line.Line{Name: "North", Hash: "0123456789abcdef0123", Date: "2026-11-25", Version: " B ", Author: "Works\n dept"}
	r := &study.Result{Line: l, Version: "1.2.3", Assumed: []line.Assumption{{Where: "run A", Text: "Roughness 0.1 mm."}}}
	s := NewStamp(r, Options{})
	for i, want := range []StampItem{{"Date", "2026-11-25", false}, {"Version of the line", "B", false}, {"Reckoned by", "Obvert 1.2.3, for Works dept", false},
		{"Hash of the inputs", "0123 4567 89ab cdef", false}, {"To be checked by a licensed engineer", "name, date", true}} {
		if got := s.Items()[i]; got != want {
			t.Errorf("item %d is %+v, want %+v", i, got, want)
		}
	}
	if got := NewStamp(r, Options{Date: "2027-01-02"}).Date; got != "2027-01-02" {
		t.Errorf("the date chosen for the hand-over gives way to the document's: %q", got)
	}
	text := strings.Join(s.Text(), "\n")
	for _, want := range []string{"Line: North", "0123456789abcdef0123", "run A: Roughness 0.1 mm.", "____", law} {
		if !strings.Contains(text, want) {
			t.Errorf("the stamp's text has no %q:\n%s", want, text)
		}
	}

	bare := NewStamp(&study.Result{Line: &line.Line{}}, Options{})
	for i, want := range []string{notGiven, notGiven, "Obvert", notGiven} {
		if got := bare.Items()[i].Text; got != want {
			t.Errorf("bare item %d is %q, want %q", i, got, want)
		}
	}
	if got := bare.Assumptions(); len(got) != 1 || !strings.HasPrefix(got[0].Text, "Nothing") {
		t.Errorf("nothing assumed reads %v", got)
	}
}
