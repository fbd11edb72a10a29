package document

import (
	"fmt"
	"regexp"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/quantity"
)

// stumble is a fault of syntax with what could be saved of its line.
type stumble struct {
	at     int // where it is reported
	fault  Fault
	resume int    // where to go on
	key    []part // the key of the line, as it was meant
	table  bool   // the line was a header
	list   bool   // of [[…]]
	end    int
}

// wordLength is the number of characters of a file shown in a message.
const wordLength = 48

const keyPattern = `(?:[\p{L}\p{N}_-]+|"[^"\n]*"|'[^'\n]*')`

var (
	keyLine    = regexp.MustCompile(`^[ \t]*(` + keyPattern + `(?:[ \t]*\.[ \t]*` + keyPattern + `)*)[ \t]*=`)
	headerLine = regexp.MustCompile(`^[ \t]*(\[\[?)[ \t]*(` + keyPattern + `(?:[ \t]*\.[ \t]*` + keyPattern + `)*)[ \t]*(\]{0,2})[ \t]*(?:#.*)?\r?$`)
	onePart    = regexp.MustCompile(keyPattern)
	commaFig   = regexp.MustCompile(`^[+-]?\d+,\d+$`)
)

// stumble works out where the expression that failed began, what was wrong with
// it, and where to go on.
func (b *builder) stumble(at int, message string, done int) stumble {
	d := b.doc
	at = min(at, len(d.data))
	start := b.expressionStart(done)
	if at < start {
		start = d.starts[d.lineIndex(at)]
	}
	s := stumble{at: at, end: start}
	line := d.lineText(start)
	multi := d.lineIndex(at) > d.lineIndex(start)
	open := strings.Contains(message, "incomplete") || strings.Contains(message, "not terminated") // the walker's words at the end of input
	switch {
	case multi && begins(d.lineText(d.starts[d.lineIndex(at)])):
		s.resume = d.starts[d.lineIndex(at)]
	case open:
		s.resume = b.nextBeginning(d.nextLine(start))
		multi = true
	default:
		s.resume = b.nextBeginning(d.nextLine(at))
		multi = false
	}
	if m := headerLine.FindStringSubmatchIndex(line); m != nil {
		s.table, s.list = true, m[3]-m[2] == 2
		s.key = splitKey(line[m[4]:m[5]], start+m[4])
	} else if m := keyLine.FindStringSubmatchIndex(line); m != nil {
		s.key = splitKey(line[m[2]:m[3]], start+m[2])
	}
	s.fault = explain(line, message, s)
	if multi {
		s.at = start + len(line) - len(strings.TrimLeft(line, " \t"))
		s.fault.What, s.fault.Understood, s.fault.Hint = "the value that begins here does not end", "", "close it with "+closing(line)
	}
	if len(s.key) > 0 && s.fault.Key == "" && !s.table {
		s.fault.Key = b.current.pathTo(join(s.key))
	}
	return s
}

// expressionStart skips the rest of the last line that was read, and blank and
// comment lines.
func (b *builder) expressionStart(done int) int {
	d := b.doc
	at := done
	if done > b.base {
		at = d.nextLine(done)
	}
	for at < len(d.data) {
		line := strings.TrimSpace(d.lineText(at))
		if line != "" && line[0] != '#' {
			return at
		}
		at = d.nextLine(at)
	}
	return d.starts[d.lineIndex(max(0, at-1))]
}

func (b *builder) nextBeginning(at int) int {
	for at < len(b.doc.data) && !begins(b.doc.lineText(at)) {
		at = b.doc.nextLine(at)
	}
	return at
}

func begins(line string) bool { return headerLine.MatchString(line) || keyLine.MatchString(line) }

// lineIndex is the place in starts of the line an offset stands on.
func (d *Doc) lineIndex(at int) int { return max(0, sort.SearchInts(d.starts, at+1)-1) }

// lineText is the text from an offset to the end of its line.
func (d *Doc) lineText(at int) string {
	end := at
	for end < len(d.data) && d.data[end] != '\n' {
		end++
	}
	return string(d.data[at:end])
}

// splitKey takes a dotted key apart; letters that only look plain are read as
// they were meant, so that the key is not missed as well.
func splitKey(text string, at int) []part {
	var parts []part
	for _, m := range onePart.FindAllStringIndex(text, mostDepth) {
		word := text[m[0]:m[1]]
		if n := len(word); n >= 2 && (word[0] == '"' || word[0] == '\'') {
			word = word[1 : n-1]
		} else {
			word, _ = quantity.LookAlikes(word)
		}
		parts = append(parts, part{word, at + m[0], at + m[1]})
	}
	return parts
}

func join(parts []part) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = bareOrQuoted(p.key)
	}
	return strings.Join(words, ".")
}

// keep puts what could be saved of the line into the tree.
func (b *builder) keep(s stumble) {
	switch {
	case len(s.key) == 0 && strings.HasPrefix(strings.TrimSpace(b.doc.lineText(s.end)), "["):
		b.doc.root.lost = true
		b.limbo(s.end)
	case len(s.key) == 0:
		b.current.lost = true
	case s.table:
		b.header(s.key, s.list, s.end)
	default:
		last := s.key[len(s.key)-1]
		owner := b.dotted(b.current, s.key)
		if owner != nil && owner.find(last.key) == nil {
			owner.add(&item{key: last.key, keyAt: last.at, value: value{kind: brokenKind, at: s.at}})
		}
	}
}

// explain puts a fault of syntax into the words of somebody who writes a file.
func explain(line, message string, s stumble) Fault {
	if s.table {
		return explainHeader(line, s)
	}
	m := keyLine.FindStringSubmatchIndex(line)
	if m == nil {
		return explainLoose(line, message)
	}
	key, raw := shown(line[m[2]:m[3]], wordLength), strings.TrimSpace(line[m[1]:])
	if f, odd := oddKey(key); odd {
		return f
	}
	if strings.HasPrefix(raw, "#") {
		raw = ""
	}
	return explainValue(key, raw, message)
}

// oddKey finds letters in a bare key that are not plain.
func oddKey(key string) (Fault, bool) {
	if strings.IndexFunc(key, func(r rune) bool { return r >= utf8.RuneSelf }) < 0 || strings.ContainsAny(key, `"'`) {
		return Fault{}, false
	}
	plain, named := quantity.LookAlikes(key)
	f := Fault{What: "a key has letters outside a…z", Understood: quantity.Quote(key), Hint: "write keys in plain letters"}
	if len(named) > 0 {
		f.What, f.Understood = "a key has a letter that only looks like a plain one", strings.Join(named, ", ")+" in "+quantity.Quote(key)
		f.Hint = "write " + plain + " in plain letters"
	}
	return f, true
}

func explainHeader(line string, s stumble) Fault {
	open, shut := "[", "]"
	if s.list {
		open, shut = "[[", "]]"
	}
	if f, odd := oddKey(strings.Trim(strings.TrimSpace(line), "[] \t")); odd {
		return f
	}
	return Fault{What: "a table's header is not whole", Understood: shown(strings.TrimSpace(line), wordLength), Hint: "write " + open + join(s.key) + shut}
}

func explainLoose(line, message string) Fault {
	text := strings.TrimSpace(line)
	switch {
	case strings.HasPrefix(text, "["):
		return Fault{What: "a table's header cannot be read", Understood: quantity.Quote(text), Hint: "write [name], or [[name]] where there are several"}
	case strings.HasPrefix(text, "//"), strings.HasPrefix(text, ";"), strings.HasPrefix(text, "%"), strings.HasPrefix(text, "--"):
		return Fault{What: "the line cannot be read", Understood: quantity.Quote(text), Hint: "begin a comment with #"}
	case strings.Contains(text, "="):
		return Fault{What: "the key cannot be read", Understood: message, Hint: `write key = "value"`}
	case strings.Contains(text, ":"):
		return Fault{What: "the line is neither a key nor a table", Understood: quantity.Quote(text), Hint: "put = between key and value, not a colon"}
	}
	return Fault{What: "the line is neither a key nor a table", Understood: quantity.Quote(text), Hint: `write key = "value", or begin a comment with #`}
}

func explainValue(key, raw, message string) Fault {
	first, _ := utf8.DecodeRuneInString(raw)
	bare, _, _ := strings.Cut(raw, "#")
	bare = shown(strings.TrimSpace(bare), wordLength)
	low := strings.ToLower(bare)
	switch {
	case raw == "":
		return Fault{What: "no value stands behind the =", Hint: "write " + key + ` = "…"`}
	case strings.ContainsRune("“”„«»‘’‚`´", first):
		return Fault{What: "the value stands in typographic quotation marks", Hint: `write them straight: "…"`}
	case strings.Contains(message, "escape"):
		return Fault{What: `a backslash begins a sign of its own in "…"`, Understood: message, Hint: `write the text in single marks '…', or the backslash twice`}
	case first == '"' || first == '\'':
		if strings.Count(raw, string(first))%2 == 1 {
			return Fault{What: "the text is not closed", Understood: quantity.Quote(raw), Hint: "close it with " + string(first)}
		}
		return Fault{What: "something stands behind the value", Understood: message, Hint: "put the whole value in one pair of quotation marks"}
	case first == '[' || first == '{':
		return Fault{What: "the list or table cannot be read", Understood: message, Hint: "put a comma between two values and close it with " + closing(raw)}
	case low == "true" || low == "yes" || low == "on":
		return Fault{What: "the value is not in quotation marks", Understood: bare, Hint: "write " + key + " = true, or the text in quotation marks"}
	case low == "false" || low == "no" || low == "off":
		return Fault{What: "the value is not in quotation marks", Understood: bare, Hint: "write " + key + " = false, or the text in quotation marks"}
	case day(bare) != "":
		return Fault{What: "the date is not in the form that is read", Understood: bare, Hint: "write " + key + " = " + day(bare)}
	case commaFig.MatchString(bare):
		return Fault{What: "a decimal comma", Understood: bare, Hint: "write " + key + " = " + strings.Replace(bare, ",", ".", 1)}
	case bare != "" && !strings.ContainsAny(bare, `"'[]{}`):
		return Fault{What: "the value is not in quotation marks", Understood: bare, Hint: "write " + key + ` = "` + bare + `"`}
	}
	return Fault{What: "the value cannot be read", Understood: message, Hint: "write " + key + ` = "…"`}
}

// shown cuts a text at a number of characters.
func shown(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most-1]) + "…"
}

// clean writes control and other invisible characters as escapes. The spaces that
// keep a figure and its unit on one line stay as they are.
func clean(s string) string {
	if strings.IndexFunc(s, hidden) < 0 {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if hidden(r) {
			fmt.Fprintf(&b, "(U+%04X)", r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

func hidden(r rune) bool {
	return r != ' ' && r != '\u00a0' && r != '\u202f' && !unicode.IsPrint(r)
}

// closing is the sign that ends what a line begins.
func closing(line string) string {
	if m := keyLine.FindStringIndex(line); m != nil {
		line = line[m[1]:]
	}
	line = strings.TrimSpace(line)
	for _, pair := range [][2]string{{`"""`, `"""`}, {"'''", "'''"}, {"[", "]"}, {"{", "}"}, {`"`, `"`}} {
		if strings.HasPrefix(line, pair[0]) {
			return pair[1]
		}
	}
	return "]"
}
