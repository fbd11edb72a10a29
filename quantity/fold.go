package quantity

import (
	"strings"
	"unicode"
)

// folds maps characters that mean the same thing in a unit onto one of them.
var folds = strings.NewReplacer(
	"μ", "µ", // Greek mu U+03BC onto the micro sign U+00B5
	"⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5", "⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9",
	"₂", "2", // mH₂O
	"⁻", "-", "−", "-",
	"^", "",
	"·", "·", "⋅", "·", "∙", "·", "•", "·", "×", "·", "*", "·", ".", "·",
	"∕", "/", "⁄", "/",
	"ℓ", "l", "℃", "°C", "℉", "°F", "º", "°", "˚", "°",
)

// fold brings a unit's spelling to the form the tables are keyed by.
func fold(s string) string {
	return folds.Replace(strings.Map(dropSpace, s))
}

func dropSpace(r rune) rune {
	if isSpace(r) {
		return -1
	}
	return r
}

// isSpace reports an ordinary, no-break, thin or other space of Unicode.
func isSpace(r rune) bool { return unicode.IsSpace(r) || unicode.Is(unicode.Zs, r) }

func dropInvisible(r rune) rune {
	if isInvisible(r) {
		return -1
	}
	return r
}

// isInvisible reports characters that take no room on paper.
func isInvisible(r rune) bool {
	return unicode.Is(unicode.Cf, r) || (unicode.IsControl(r) && !unicode.IsSpace(r))
}
