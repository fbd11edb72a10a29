package quantity

import (
	"strings"
	"unicode/utf8"
)

// longestWord is the length, in characters, beyond which a word is not compared.
const longestWord = 64

// Nearest returns the known word that the given one was most likely meant to
// be: the one with the fewest insertions, deletions, replacements and swaps of
// neighbours (the restricted Damerau–Levenshtein distance), capitals ignored.
// A word further away than a third of its length is not offered. Of several
// equally near the first is taken.
//
// Source: F. J. Damerau, "A technique for computer detection and correction of
// spelling errors", Communications of the ACM 7 (1964) 171–176.
func Nearest(word string, known []string) (string, bool) {
	w := []rune(strings.ToLower(word))
	if len(w) == 0 || len(w) > longestWord {
		return "", false
	}
	best, found := 1+max(1, len(w)/3), ""
	for _, k := range known {
		if utf8.RuneCountInString(k) > longestWord {
			continue
		}
		if d := distance(w, []rune(strings.ToLower(k))); d < best && d < utf8.RuneCountInString(k) {
			best, found = d, k
		}
	}
	return found, found != ""
}

// distance is the restricted Damerau–Levenshtein distance of two words.
func distance(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			same := 1
			if a[i-1] == b[j-1] {
				same = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+same)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
