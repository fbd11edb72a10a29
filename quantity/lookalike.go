package quantity

import (
	"fmt"
	"strings"
	"unicode"
)

// twins are letters of other scripts that look like an ASCII letter in most
// typefaces. Source: own choice from the Unicode charts (Cyrillic U+0400, Greek
// U+0370), in the sense of Unicode Technical Standard 39, "confusables".
var twins = func() map[rune]rune {
	m := map[rune]rune{}
	pairs := []string{
		"аaеeоoрpсcуyхxіiјjѕsһhԁdԛqԝwмmтtкkгrпnвb", "АAВBЕEКKМMНHОOРPСCТTХXУYІIЈJЅSԜW",
		"αaοoρpνvιiκkτtυuχxγyηn", "ΑAΒBΕEΖZΗHΙIΚKΜMΝNΟOΡPΤTΥYΧX",
	}
	for _, p := range pairs {
		r := []rune(p)
		for i := 0; i+1 < len(r); i += 2 {
			m[r[i]] = r[i+1]
		}
	}
	return m
}()

// LookAlikes finds letters that look like ASCII but are not: Cyrillic, Greek,
// fullwidth. It returns the word in plain letters and names each odd one once
// ("а" (U+0430, Cyrillic)); none named means the word has none.
func LookAlikes(word string) (plain string, named []string) {
	var b strings.Builder
	seen := map[rune]bool{}
	for _, r := range word {
		p, script := twin(r)
		b.WriteRune(p)
		if p != r && !seen[r] {
			seen[r] = true
			named = append(named, fmt.Sprintf("%q (U+%04X, %s)", string(r), r, script))
		}
	}
	return b.String(), named
}

// twin returns the ASCII letter r looks like, and r's script; r itself if none.
func twin(r rune) (rune, string) {
	if r >= 0xFF01 && r <= 0xFF5E {
		return r - 0xFEE0, "fullwidth"
	}
	p, ok := twins[r]
	if !ok {
		return r, ""
	}
	if unicode.Is(unicode.Cyrillic, r) {
		return p, "Cyrillic"
	}
	return p, "Greek"
}
