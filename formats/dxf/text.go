package dxf

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf16"

	"golang.org/x/text/encoding/charmap"
)

// plain are the characters that a font of strokes may lack and that have an equal in ASCII, and the three with codes of their own.
var plain = map[rune]string{'−': "-", '–': "-", '—': "-", '‑': "-", '…': "...", '’': "'", '‘': "'", '“': `"`, '”': `"`, '\u00a0': " ", '\u202f': " ", '\u2009': " ",
	'°': "%%d", '±': "%%p", '⌀': "%%c", 'Ø': "%%c"}

// Encode writes a text as a TEXT entity of R12 holds it: in the code page that the header names, Windows-1252. Dashes, primes and narrow spaces become their equals in ASCII;
// degree, plus-minus and diameter %%d, %%p and %%c; what else the code page lacks \U+XXXX, in two halves above U+FFFF. A per cent
// sign before another one is told apart as %%%, a caret as "^ ". Control characters become spaces.
func Encode(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	in := []rune(s)
	for i, r := range in {
		next := rune(0)
		if i+1 < len(in) {
			next = in[i+1]
		}
		switch p, ok := plain[r]; {
		case ok:
			b.WriteString(p)
		case r == '^':
			b.WriteString("^ ")
		case r == '%' && (strings.ContainsRune("%°±⌀Ø", next) && next != 0 || i > 0 && in[i-1] == '%'):
			b.WriteString("%%%")
		case r < 0x20 || r == 0x7F:
			b.WriteByte(' ')
		case r == '\\' && next == 'U':
			b.WriteString(`\U+005C`)
		case r < 0x7F:
			b.WriteRune(r)
		case inPage(r):
			c, _ := charmap.Windows1252.EncodeRune(r)
			b.WriteByte(c)
		case r > 0xFFFF:
			hi, lo := utf16.EncodeRune(r)
			fmt.Fprintf(&b, `\U+%04X\U+%04X`, hi, lo)
		default:
			fmt.Fprintf(&b, `\U+%04X`, r)
		}
	}
	return b.String()
}

// inPage tells whether a printable character beyond ASCII is in Windows-1252.
func inPage(r rune) bool {
	_, ok := charmap.Windows1252.EncodeRune(r)
	return ok && r >= 0xA0
}

// ascii keeps what stands in names and comments to ASCII on one line.
func ascii(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r < 0x20 || r == 0x7F:
			return ' '
		case r > 0x7F:
			return '?'
		}
		return r
	}, plainASCII.Replace(s))
}

var plainASCII = strings.NewReplacer("−", "-", "–", "-", "…", "...", "’", "'", "³", "3", "²", "2", "°", " deg", "±", "+/-")

// decode reads a text of a TEXT entity back.
func decode(s string) string {
	if !strings.ContainsAny(s, `%\^`) {
		return s
	}
	var b strings.Builder
	var units []uint16
	flush := func() {
		if len(units) > 0 {
			b.WriteString(string(utf16.Decode(units)))
			units = nil
		}
	}
	for i := 0; i < len(s); {
		if strings.HasPrefix(s[i:], `\U+`) && len(s) >= i+7 {
			if v, err := strconv.ParseUint(s[i+3:i+7], 16, 16); err == nil {
				units = append(units, uint16(v))
				i += 7
				continue
			}
		}
		flush()
		if strings.HasPrefix(s[i:], "%%") && len(s) > i+2 {
			n := 3
			switch s[i+2] {
			case 'd', 'D':
				b.WriteString("°")
			case 'p', 'P':
				b.WriteString("±")
			case 'c', 'C':
				b.WriteString("⌀")
			case '%':
				b.WriteByte('%')
			case 'u', 'U', 'o', 'O', 'k', 'K': // underlined, overlined, struck out
			default:
				n = 1
				b.WriteByte('%')
			}
			i += n
			continue
		}
		if s[i] == '^' && i+1 < len(s) && s[i+1] == ' ' {
			b.WriteByte('^')
			i += 2
			continue
		}
		b.WriteByte(s[i])
		i++
	}
	flush()
	return b.String()
}
