// Package woff reads the tables of a font that the generators beside it ask for.
package woff

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

var be = binary.BigEndian

// Unpack reads the tables of a WOFF 1.0 file, packed with zlib (W3C Recommendation "WOFF File Format 1.0", 2012).
func Unpack(raw []byte) (map[string][]byte, error) {
	if len(raw) < 44 || string(raw[:4]) != "wOFF" {
		return nil, errors.New("not a WOFF 1.0 file")
	}
	t := map[string][]byte{}
	for i := range int(be.Uint16(raw[12:])) {
		d := raw[44+20*i:]
		off, packed, size := be.Uint32(d[4:]), be.Uint32(d[8:]), be.Uint32(d[12:])
		body := raw[off : off+packed]
		if packed < size {
			z, err := zlib.NewReader(bytes.NewReader(body))
			if err != nil {
				return nil, err
			}
			if body, err = io.ReadAll(z); err != nil {
				return nil, err
			}
		}
		t[string(d[:4])] = body
	}
	for _, need := range []string{"cmap", "head", "hhea", "hmtx", "GSUB"} {
		if t[need] == nil {
			return nil, fmt.Errorf("no table %s", need)
		}
	}
	return t, nil
}

// Characters reads the format 4 subtable of cmap (OpenType specification, "cmap"): from character to glyph.
func Characters(c []byte) (map[int]int, error) {
	for i := range int(be.Uint16(c[2:])) {
		s := c[be.Uint32(c[8+8*i:]):]
		if be.Uint16(s) != 4 {
			continue
		}
		m := map[int]int{}
		n := int(be.Uint16(s[6:])) / 2
		end, start := s[14:], s[16+2*n:]
		delta, rang := s[16+4*n:], s[16+6*n:]
		for k := range n {
			lo, hi := int(be.Uint16(start[2*k:])), int(be.Uint16(end[2*k:]))
			ro := int(be.Uint16(rang[2*k:]))
			for r := lo; r <= hi && r != 0xFFFF; r++ {
				g := r
				if ro != 0 {
					if g = int(be.Uint16(rang[2*k+ro+2*(r-lo):])); g == 0 {
						continue
					}
				}
				m[r] = (g + int(be.Uint16(delta[2*k:]))) & 0xFFFF
			}
		}
		return m, nil
	}
	return nil, errors.New("no cmap subtable of format 4")
}

// Tabular reads the single substitutions of the feature tnum (OpenType specification, "GSUB"): from glyph to glyph.
func Tabular(g []byte) map[int]int {
	m := map[int]int{}
	features, lookups := g[be.Uint16(g[6:]):], g[be.Uint16(g[8:]):]
	for i := range int(be.Uint16(features)) {
		rec := features[2+6*i:]
		if string(rec[:4]) != "tnum" {
			continue
		}
		f := features[be.Uint16(rec[4:]):]
		for k := range int(be.Uint16(f[2:])) {
			l := lookups[be.Uint16(lookups[2+2*int(be.Uint16(f[4+2*k:])):]):]
			for j := range int(be.Uint16(l[4:])) {
				sub, kind := l[be.Uint16(l[6+2*j:]):], be.Uint16(l)
				if kind == 7 {
					kind, sub = be.Uint16(sub[2:]), sub[be.Uint32(sub[4:]):]
				}
				if kind == 1 {
					single(sub, m)
				}
			}
		}
	}
	return m
}

func single(s []byte, m map[int]int) {
	for i, g := range covered(s[be.Uint16(s[2:]):]) {
		if be.Uint16(s) == 1 {
			m[g] = (g + int(be.Uint16(s[4:]))) & 0xFFFF
		} else {
			m[g] = int(be.Uint16(s[6+2*i:]))
		}
	}
}

func covered(c []byte) []int {
	var out []int
	n := int(be.Uint16(c[2:]))
	if be.Uint16(c) == 1 {
		for i := range n {
			out = append(out, int(be.Uint16(c[4+2*i:])))
		}
		return out
	}
	for i := range n {
		for g := int(be.Uint16(c[4+6*i:])); g <= int(be.Uint16(c[6+6*i:])); g++ {
			out = append(out, g)
		}
	}
	return out
}
