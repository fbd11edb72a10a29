package document

import "obvert/quantity"

// Nearest returns the known word that the given one was most likely meant to be:
// the nearest by the restricted Damerau–Levenshtein distance, capitals ignored,
// no further than a third of the word's length.
func Nearest(word string, known []string) (string, bool) { return quantity.Nearest(word, known) }
