// Command faces writes one TrueType font of several WOFF files that hold one face in pieces, for the PDF.
//
//	go run ./internal/faces OUT.ttf NAME PIECE.woff …
//
// The pieces are the files of the npm package @fontsource/source-sans-3 5.3.1 (files/source-sans-3-SUBSET-400-normal.woff and
// …-600-normal.woff, OFL 1.1, without a reserved name), of which a browser loads those that a page needs. The first piece
// that holds a character gives it. Figures are the tabular ones, as they are set in the report's tables and drawings.
// Kerning, ligatures and instructions for coarse screens are left out. Tables are those of the OpenType specification 1.9.
package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"slices"

	"obvert/deliver/internal/woff"
)

var be = binary.BigEndian

func main() {
	if len(os.Args) < 4 {
		fmt.Fprintln(os.Stderr, "faces: wants OUT.ttf NAME PIECE.woff …")
		os.Exit(2)
	}
	f := &font{seen: map[key]int{}, glyph: map[int]int{}}
	for i, name := range os.Args[3:] {
		raw, err := os.ReadFile(name)
		if err == nil {
			err = f.add(i, raw)
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, "faces:", name+":", err)
			os.Exit(1)
		}
	}
	if err := os.WriteFile(os.Args[1], f.file(os.Args[2]), 0o644); err != nil {
		fmt.Fprintln(os.Stderr, "faces:", err)
		os.Exit(1)
	}
}

type key struct{ piece, glyph int }

// font is the face as it grows.
type font struct {
	first                   map[string][]byte // tables of the first piece: head, hhea, OS/2
	glyphs                  [][]byte
	advance, bearing        []int
	seen                    map[key]int // the new glyph of a piece's glyph
	glyph                   map[int]int // by character
	contours, points, depth int
	t                       map[string][]byte // of the piece being read
	piece                   int
}

func (f *font) add(piece int, raw []byte) error {
	t, err := woff.Unpack(raw)
	if err != nil {
		return err
	}
	if t["glyf"] == nil || t["loca"] == nil {
		return errors.New("no TrueType outlines")
	}
	m, err := woff.Characters(t["cmap"])
	if err != nil {
		return err
	}
	if f.first == nil {
		f.first = t
	} else if be.Uint16(t["head"][18:]) != be.Uint16(f.first["head"][18:]) {
		return errors.New("another number of units in an em")
	}
	f.t, f.piece = t, piece
	if piece == 0 {
		f.take(0) // .notdef
	}
	tab := woff.Tabular(t["GSUB"])
	runes := make([]int, 0, len(m))
	for r := range m {
		runes = append(runes, r)
	}
	slices.Sort(runes)
	for _, r := range runes {
		if _, ok := f.glyph[r]; ok || m[r] == 0 {
			continue
		}
		g := m[r]
		if s, ok := tab[g]; ok && r >= '0' && r <= '9' {
			g = s
		}
		f.glyph[r] = f.take(g)
	}
	return nil
}

// take copies a glyph with those it is made of.
func (f *font) take(g int) int {
	if n, ok := f.seen[key{f.piece, g}]; ok {
		return n
	}
	n := len(f.glyphs)
	f.seen[key{f.piece, g}] = n
	f.glyphs, f.advance, f.bearing = append(f.glyphs, nil), append(f.advance, 0), append(f.bearing, 0)
	long := int(be.Uint16(f.t["hhea"][34:]))
	if g < long {
		f.advance[n], f.bearing[n] = int(be.Uint16(f.t["hmtx"][4*g:])), int(be.Uint16(f.t["hmtx"][4*g+2:]))
	} else {
		f.advance[n], f.bearing[n] = int(be.Uint16(f.t["hmtx"][4*long-4:])), int(be.Uint16(f.t["hmtx"][4*long+2*(g-long):]))
	}
	f.glyphs[n] = f.outline(g)
	return n
}

// outline is a glyph's outline without instructions, its parts renumbered.
func (f *font) outline(g int) []byte {
	loca, glyf := f.t["loca"], f.t["glyf"]
	var from, to uint32
	if be.Uint16(f.t["head"][50:]) == 0 {
		from, to = 2*uint32(be.Uint16(loca[2*g:])), 2*uint32(be.Uint16(loca[2*g+2:]))
	} else {
		from, to = be.Uint32(loca[4*g:]), be.Uint32(loca[4*g+4:])
	}
	d := slices.Clone(glyf[from:to])
	if len(d) == 0 {
		return nil
	}
	if c := int(int16(be.Uint16(d))); c >= 0 {
		at := 10 + 2*c
		n := int(be.Uint16(d[at:]))
		be.PutUint16(d[at:], 0)
		d = slices.Delete(d, at+2, at+2+n)
		f.contours = max(f.contours, c)
		if c > 0 {
			f.points = max(f.points, int(be.Uint16(d[at-2:]))+1)
		}
		return padded(d)
	}
	const (
		words, scale, more, both, two, instructions = 1, 8, 32, 64, 128, 256
	)
	at, parts := 10, 0
	for {
		flags := be.Uint16(d[at:])
		be.PutUint16(d[at:], flags&^instructions)
		be.PutUint16(d[at+2:], uint16(f.take(int(be.Uint16(d[at+2:])))))
		at += 6
		parts++
		if flags&words != 0 {
			at += 2
		}
		switch {
		case flags&scale != 0:
			at += 2
		case flags&both != 0:
			at += 4
		case flags&two != 0:
			at += 8
		}
		if flags&more == 0 {
			break
		}
	}
	f.depth = max(f.depth, parts)
	return padded(d[:at])
}

func padded(d []byte) []byte {
	for len(d)%4 != 0 {
		d = append(d, 0)
	}
	return d
}

// file is the font as a file.
func (f *font) file(name string) []byte {
	n := len(f.glyphs)
	var glyf, loca, hmtx []byte
	widest := 0
	for i, g := range f.glyphs {
		loca = be.AppendUint32(loca, uint32(len(glyf)))
		glyf = append(glyf, g...)
		hmtx = be.AppendUint16(be.AppendUint16(hmtx, uint16(f.advance[i])), uint16(f.bearing[i]))
		widest = max(widest, f.advance[i])
	}
	loca = be.AppendUint32(loca, uint32(len(glyf)))
	head, hhea := slices.Clone(f.first["head"]), slices.Clone(f.first["hhea"])
	be.PutUint32(head[8:], 0)
	be.PutUint16(head[50:], 1) // long offsets
	be.PutUint16(hhea[10:], uint16(widest))
	be.PutUint16(hhea[34:], uint16(n))
	maxp := be.AppendUint32(nil, 0x00010000)
	for _, v := range []int{n, f.points, f.contours, 4 * f.points, 4 * f.contours, 2, 0, 0, 0, 0, 0, 0, f.depth, 2} {
		maxp = be.AppendUint16(maxp, uint16(v))
	}
	post := make([]byte, 32)
	be.PutUint32(post, 0x00030000)
	if p := f.first["post"]; len(p) >= 16 {
		copy(post[4:16], p[4:16])
	}
	return assemble(map[string][]byte{"OS/2": f.first["OS/2"], "cmap": f.cmap(), "glyf": glyf, "head": head, "hhea": hhea, "hmtx": hmtx, "loca": loca,
		"maxp": maxp, "name": names(name), "post": post})
}

// cmap is one subtable of format 4.
func (f *font) cmap() []byte {
	var runes []int
	for r := range f.glyph {
		if r < 0xFFFF {
			runes = append(runes, r)
		}
	}
	slices.Sort(runes)
	type run struct{ from, to, glyph int }
	var runs []run
	for _, r := range runes {
		if k := len(runs) - 1; k >= 0 && runs[k].to == r-1 && f.glyph[r] == runs[k].glyph+r-runs[k].from {
			runs[k].to = r
		} else {
			runs = append(runs, run{r, r, f.glyph[r]})
		}
	}
	runs = append(runs, run{0xFFFF, 0xFFFF, 0x10000})
	k := len(runs)
	pow, log := 1, 0
	for 2*pow <= k {
		pow, log = 2*pow, log+1
	}
	s := []byte{}
	for _, v := range []int{4, 16 + 8*k, 0, 2 * k, 2 * pow, log, 2 * (k - pow)} {
		s = be.AppendUint16(s, uint16(v))
	}
	for _, r := range runs {
		s = be.AppendUint16(s, uint16(r.to))
	}
	s = append(s, 0, 0)
	for _, r := range runs {
		s = be.AppendUint16(s, uint16(r.from))
	}
	for _, r := range runs {
		s = be.AppendUint16(s, uint16(r.glyph-r.from))
	}
	s = append(s, make([]byte, 2*k)...)
	out := []byte{0, 0, 0, 1, 0, 3, 0, 1, 0, 0, 0, 12}
	return append(out, s...)
}

// names is the table of names, in the one record that readers look for.
func names(name string) []byte {
	var text []byte
	for _, r := range name {
		text = be.AppendUint16(text, uint16(r))
	}
	ids := []int{1, 4, 6}
	out := be.AppendUint16(be.AppendUint16([]byte{0, 0}, uint16(len(ids))), uint16(6+12*len(ids)))
	for _, id := range ids {
		for _, v := range []int{3, 1, 0x409, id, len(text), 0} {
			out = be.AppendUint16(out, uint16(v))
		}
	}
	return append(out, text...)
}

// assemble writes tables with their directory and sums.
func assemble(t map[string][]byte) []byte {
	tags := make([]string, 0, len(t))
	for tag := range t {
		tags = append(tags, tag)
	}
	slices.Sort(tags)
	pow, log := 1, 0
	for 2*pow <= len(tags) {
		pow, log = 2*pow, log+1
	}
	out := be.AppendUint32(nil, 0x00010000)
	for _, v := range []int{len(tags), 16 * pow, log, 16 * (len(tags) - pow)} {
		out = be.AppendUint16(out, uint16(v))
	}
	at := 12 + 16*len(tags)
	head := 0
	var body []byte
	for _, tag := range tags {
		d := padded(slices.Clone(t[tag]))
		if tag == "head" {
			head = at + len(body)
		}
		out = append(out, tag...)
		for _, v := range []uint32{sum(d), uint32(at + len(body)), uint32(len(t[tag]))} {
			out = be.AppendUint32(out, v)
		}
		body = append(body, d...)
	}
	out = append(out, body...)
	be.PutUint32(out[head+8:], 0xB1B0AFBA-sum(out))
	return out
}

func sum(d []byte) (s uint32) {
	for i := 0; i < len(d); i += 4 {
		s += be.Uint32(d[i:])
	}
	return s
}
