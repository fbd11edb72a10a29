package deliver

import "strings"

// face is a way of setting text in a drawing: its class in the style sheet, its size and its weight.
type face struct {
	class string
	size  float64 // px
	bold  bool
}

// The faces of the drawings. None is smaller than 12 px. The style sheet repeats size and weight; a test compares the two.
var (
	faceNote   = face{"s", 12, false}   // notes and scales
	faceNoteB  = face{"sb", 12, true}   //
	faceLabel  = face{"lab", 13, false} // labels and cells
	faceLabelB = face{"labb", 13, true} //
	faceRow    = face{"r", 12.5, false} // figures turned at their chainage
	faceRowB   = face{"rb", 12.5, true} //
	faceWord   = face{"vl", 15, true}   // a valve's word
	faceNumber = face{"vn", 17, true}   // a valve's number
	faceHead   = face{"bh", 15, true}   // the head of a band
)

// faces lists them for the style sheet's test.
var faces = []face{faceNote, faceNoteB, faceLabel, faceLabelB, faceRow, faceRowB, faceWord, faceNumber, faceHead}

// fallbackAdvance is the advance assumed for a character that the embedded font lacks, in thousandths of an em: such
// characters come from whatever font the reader has. Wide scripts are an em.
const (
	fallbackAdvance = 700
	wideAdvance     = 1000
)

// TextWidth is the width in px of a text set in Source Sans 3 at size px, regular or semibold, with tabular figures.
// It is the sum of the font's advances, without kerning, which makes the set text a little narrower.
func TextWidth(s string, size float64, bold bool) float64 {
	table := regularAdvance
	if bold {
		table = semiboldAdvance
	}
	sum := 0
	for _, r := range s {
		switch a, ok := table[int32(r)]; {
		case ok:
			sum += int(a)
		case r >= 0x1100 && !(r >= 0x2000 && r < 0x2E80):
			sum += wideAdvance
		default:
			sum += fallbackAdvance
		}
	}
	return float64(sum) * size / 1000
}

func (f face) width(s string) float64 { return TextWidth(s, f.size, f.bold) }

// wrap breaks a text into lines no wider than width, at spaces where it can, inside a word where it must.
func (f face) wrap(s string, width float64) []string {
	var lines []string
	line := ""
	flush := func() {
		if line != "" {
			lines = append(lines, line)
			line = ""
		}
	}
	for _, word := range strings.Fields(s) {
		for {
			next := word
			if line != "" {
				next = line + " " + word
			}
			if f.width(next) <= width {
				line = next
				break
			}
			if line != "" {
				flush()
				continue
			}
			cut := f.fit(word, width)
			if cut == len(word) {
				line = word
				break
			}
			lines = append(lines, word[:cut])
			word = word[cut:]
		}
	}
	flush()
	return lines
}

// fit is the length in bytes of the longest beginning of a word that is no wider than width: one character at least,
// after a hyphen or the like where there is one in its second half.
func (f face) fit(word string, width float64) int {
	last, soft := 0, 0
	for i, r := range word {
		end := i + len(string(r))
		if i > 0 && f.width(word[:end]) > width {
			if soft > last/2 {
				return soft
			}
			return last
		}
		last = end
		if strings.ContainsRune("-/_.,;", r) {
			soft = end
		}
	}
	return len(word)
}

// widest is the width of the widest of some lines.
func (f face) widest(lines []string) float64 {
	w := 0.0
	for _, l := range lines {
		w = max(w, f.width(l))
	}
	return w
}
