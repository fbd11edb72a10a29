package pdf

import (
	"encoding/binary"
	"errors"
	"slices"
)

var be = binary.BigEndian

// face is what must be known of a font to set text in it: tables cmap, head, hhea and hmtx of the OpenType specification.
type face struct {
	glyph  map[rune]int
	widths []uint16
	perEm  float64
}

func (f *face) has(r rune) bool { return f.glyph[r] != 0 }

// readFace reads a TrueType font.
func readFace(raw []byte) (f *face, err error) {
	defer func() { // a font is part of the program: a torn one is a mistake in the program, told as an error
		if recover() != nil {
			f, err = nil, errors.New("it is cut short")
		}
	}()
	if len(raw) < 12 || be.Uint32(raw) != 0x00010000 {
		return nil, errors.New("it has no TrueType outlines")
	}
	raw = raw[:len(raw):len(raw)]
	t := map[string][]byte{}
	for i := range int(be.Uint16(raw[4:])) {
		d := raw[12+16*i:]
		at, n := be.Uint32(d[8:]), be.Uint32(d[12:])
		t[string(d[:4])] = raw[at : at+n]
	}
	for _, need := range []string{"cmap", "head", "hhea", "hmtx", "glyf"} {
		if t[need] == nil {
			return nil, errors.New("it has no table " + need)
		}
	}
	f = &face{perEm: float64(be.Uint16(t["head"][18:]))}
	if f.glyph = characters(t["cmap"]); f.glyph == nil {
		return nil, errors.New("it has no character map of format 4")
	}
	for i := range int(be.Uint16(t["hhea"][34:])) {
		f.widths = append(f.widths, be.Uint16(t["hmtx"][4*i:]))
	}
	if len(f.widths) == 0 || f.perEm == 0 {
		return nil, errors.New("it has no advances")
	}
	return f, nil
}

// advance is a character's advance in em.
func (f *face) advance(r rune) float64 {
	return float64(f.widths[min(f.glyph[r], len(f.widths)-1)]) / f.perEm
}

// characters reads the subtable of format 4 of a character map.
func characters(c []byte) map[rune]int {
	for i := range int(be.Uint16(c[2:])) {
		s := c[be.Uint32(c[8+8*i:]):]
		if be.Uint16(s) != 4 {
			continue
		}
		m := map[rune]int{}
		n := int(be.Uint16(s[6:])) / 2
		end, start := s[14:], s[16+2*n:]
		delta, offset := s[16+4*n:], s[16+6*n:]
		for k := range n {
			lo, hi, o := int(be.Uint16(start[2*k:])), int(be.Uint16(end[2*k:])), int(be.Uint16(offset[2*k:]))
			for r := lo; r <= hi && r != 0xFFFF; r++ {
				g := r
				if o != 0 {
					if g = int(be.Uint16(offset[2*k+o+2*(r-lo):])); g == 0 {
						continue
					}
				}
				m[rune(r)] = (g + int(be.Uint16(delta[2*k:]))) & 0xFFFF
			}
		}
		return m
	}
	return nil
}

func sortedRunes(m map[rune]bool) []rune {
	var out []rune
	for r := range m {
		out = append(out, r)
	}
	slices.Sort(out)
	return out
}
