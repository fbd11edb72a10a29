package line

import (
	"fmt"
	"strings"

	"obvert/quantity"
)

// names is a set of things of one sort that are called by their names.
type names struct {
	sort   string // "node", with its article in messages: "a node"
	index  map[string]int
	places map[string]form   // where each was given
	plain  map[string]string // the name in plain small letters → the name as written
	order  []string
	missed int // names that were looked for in vain
}

// mostHints is how many unknown names are held against all known ones, which takes its time.
const mostHints = 200

func newNames(sort string) *names {
	return &names{sort: sort, index: map[string]int{}, places: map[string]form{}, plain: map[string]string{}}
}

// add gives a name to the i-th thing. A name that another has is a fault; one that only looks like another's a warning.
func (n *names) add(f form, key, name string, i int) {
	if first, taken := n.places[name]; taken {
		f.fault(key, fmt.Sprintf("two things have the name %q", name), fmt.Sprintf("the first stands at line %d", first.t.Line()),
			"give each "+n.sort+" a name of its own")
		return
	}
	p := plainName(name)
	if other, near := n.plain[p]; near {
		f.warn(key, "name.alike", fmt.Sprintf("the name %q looks like %q", name, other), odd(name, other),
			"give one of them a name that cannot be taken for the other")
	} else {
		n.plain[p] = name
	}
	n.index[name], n.places[name] = i, f
	n.order = append(n.order, name)
}

// put gives a name to the i-th thing that the document does not hold. A name that is taken stays with what has it.
func (n *names) put(name string, i int) {
	if _, taken := n.index[name]; taken {
		return
	}
	n.index[name], n.plain[plainName(name)] = i, name
	n.order = append(n.order, name)
}

// find looks a name up that another table uses. What is not found is reported with the nearest name there is.
func (n *names) find(f form, key, name string) (int, bool) {
	if i, ok := n.index[name]; ok {
		return i, true
	}
	f.fault(key, fmt.Sprintf("there is no %s called %q", n.sort, name), odd(name, ""), n.hint(name))
	return 0, false
}

// hint offers the nearest name, or all of them where they are few.
func (n *names) hint(name string) string {
	if near, ok := n.plain[plainName(name)]; ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if n.missed++; n.missed > mostHints {
		return "see the faults before this one"
	}
	if near, ok := quantity.Nearest(name, n.order); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	const few = 12
	switch {
	case len(n.order) == 0:
		return "there is no " + n.sort + " yet"
	case len(n.order) <= few:
		quoted := make([]string, len(n.order))
		for i, s := range n.order {
			quoted[i] = fmt.Sprintf("%q", s)
		}
		return "known: " + strings.Join(quoted, ", ")
	}
	return fmt.Sprintf("%d are known, from %q to %q", len(n.order), n.order[0], n.order[len(n.order)-1])
}

// plainName is a name in plain small letters with single spaces: two names that a reader takes for one another share it.
func plainName(name string) string {
	plain, _ := quantity.LookAlikes(name)
	return strings.ToLower(strings.Join(strings.Fields(plain), " "))
}

// odd names the letters of a name, or else of another, that look like plain ones but are not.
func odd(name, other string) string {
	for _, s := range []string{name, other} {
		// A name written in one script throughout is in order: only a mixture is odd.
		if plain, letters := quantity.LookAlikes(s); len(letters) > 0 && hasPlainLetter(s) && plain != s {
			return fmt.Sprintf("%q holds letters that look like others: %s", s, strings.Join(letters, ", "))
		}
	}
	return ""
}

func hasPlainLetter(s string) bool {
	return strings.ContainsFunc(s, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' })
}
