package deliver

import (
	"fmt"
	"strings"

	"obvert/line"
	"obvert/study"
)

// law stands on every deliverable.
const law = "Local codes and a licensed engineer decide. This sheet reckons; it does not approve."

// notGiven stands where the user gave nothing; it is never filled by the clock or by a guess.
const notGiven = "not given"

// Stamp is what every deliverable carries, so that a sheet found alone years later still tells what it was reckoned from:
// two sheets with one hash, one version of the line and one version of Obvert belong together.
type Stamp struct {
	Line    string // the line's name
	Version string // the user's mark of the line's version, or empty
	Date    string // given by the user, here or in the line's document, or empty; never the clock
	Hash    string // SHA-256 of all inputs, hexadecimal
	Program string // Obvert's version
	Author  string // for whom it was reckoned, or empty
	Assumed []line.Assumption
}

// StampItem is one line of a stamp: a term and its text.
type StampItem struct {
	Term, Text string
	Check      bool // to be filled in by hand; Text says with what
}

// blockItem is a line of a title block.
type blockItem = StampItem

// NewStamp is the stamp of a result. The date chosen for this hand-over stands before the document's own.
func NewStamp(r *study.Result, o Options) Stamp {
	l := r.Line
	s := Stamp{Line: l.Name, Version: trimmedText(l.Version), Date: trimmedText(o.Date), Hash: l.Hash, Program: trimmedText(r.Version), Author: trimmedText(l.Author), Assumed: r.Assumed}
	if s.Date == "" {
		s.Date = trimmedText(l.Date)
	}
	if len(s.Assumed) == 0 {
		s.Assumed = l.Assumed
	}
	return s
}

func trimmedText(s string) string { return strings.Join(strings.Fields(s), " ") }

func orNotGiven(s string) string {
	if s == "" {
		return notGiven
	}
	return s
}

// ShortHash is the first sixteen figures of the hash in groups of four, as it stands in title blocks, or empty.
func (s Stamp) ShortHash() string {
	h := s.Hash[:min(16, len(s.Hash))]
	var groups []string
	for len(h) > 4 {
		groups, h = append(groups, h[:4]), h[4:]
	}
	return strings.TrimSpace(strings.Join(append(groups, h), " "))
}

// ReckonedBy is the program and for whom it reckoned.
func (s Stamp) ReckonedBy() string {
	t := trimmedText("Obvert " + s.Program)
	if s.Author != "" {
		t += ", for " + s.Author
	}
	return t
}

// Items are the lines of a title block: the last is the blank in which the engineer who checked signs.
func (s Stamp) Items() []StampItem {
	return []StampItem{
		{Term: "Date", Text: orNotGiven(s.Date)},
		{Term: "Version of the line", Text: orNotGiven(s.Version)},
		{Term: "Reckoned by", Text: s.ReckonedBy()},
		{Term: "Hash of the inputs", Text: orNotGiven(s.ShortHash())},
		{Term: "To be checked by a licensed engineer", Text: "name, date", Check: true},
	}
}

// Assumptions are what was assumed, one plain sentence each with its places, a sentence that holds at several places once; one sentence that says so where
// nothing was.
func (s Stamp) Assumptions() (out []line.Assumption) {
	if len(s.Assumed) == 0 {
		return []line.Assumption{{Text: "Nothing: every value was given."}}
	}
	at := map[string]int{}
	for _, a := range s.Assumed {
		i, again := at[a.Text]
		if !again || a.Where == "" {
			at[a.Text] = len(out)
			out = append(out, a)
			continue
		}
		out[i].Where += "; " + a.Where
	}
	return out
}

// Law is the sentence that stands on every deliverable.
func (s Stamp) Law() string { return law }

// Text is the whole stamp as plain lines: the hash in full, a blank to sign, what was assumed.
func (s Stamp) Text() []string {
	out := []string{"Line: " + s.Line}
	for _, i := range s.Items() {
		switch {
		case i.Check:
			out = append(out, i.Term+" ("+i.Text+"): "+strings.Repeat("_", 30))
		case i.Term == "Hash of the inputs":
			out = append(out, i.Term+" (SHA-256): "+orNotGiven(s.Hash))
		default:
			out = append(out, i.Term+": "+i.Text)
		}
	}
	out = append(out, "Assumed:")
	for _, a := range s.Assumptions() {
		out = append(out, "  "+assumedText(a))
	}
	return append(out, law)
}

// assumedText is an assumption as a sentence with its place before it.
func assumedText(a line.Assumption) string {
	if a.Where == "" {
		return a.Text
	}
	return fmt.Sprintf("%s: %s", a.Where, a.Text)
}
