// Package man writes manual pages of a command tree, in the man(7) language that troff and mandoc read, from the same text as
// --help. Only a test of the command imports it; it is no part of the product.
//
// Text is taken as it stands in the help: paragraphs parted by blank lines, and lines that are set in are kept line by line.
// The output holds no clock: whoever calls gives the date.
package man

import (
	"bytes"
	"fmt"
	"sort"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Source says what stands in the head and foot of every page.
type Source struct {
	Version string // "Obvert 0.1.0"
	Date    string // 2026-11-18
	Manual  string // "Obvert manual"
}

// Section is the section of the manual that holds commands.
const Section = "1"

// Pages writes a page for a command and each one below it, by file name: obvert.1, obvert-rack-list.1. Hidden commands have
// none, nor has help.
func Pages(root *cobra.Command, s Source) map[string][]byte {
	out := map[string][]byte{}
	each(root, func(c *cobra.Command) {
		out[name(c)+"."+Section] = page(c, s)
	})
	return out
}

func each(c *cobra.Command, do func(*cobra.Command)) {
	do(c)
	for _, sub := range shown(c) {
		each(sub, do)
	}
}

// shown are the commands below one that have pages.
func shown(c *cobra.Command) []*cobra.Command {
	var out []*cobra.Command
	for _, sub := range c.Commands() {
		if !sub.Hidden && sub.Name() != "help" {
			out = append(out, sub)
		}
	}
	return out
}

func name(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// page writes one page.
func page(c *cobra.Command, s Source) []byte {
	c.InitDefaultHelpFlag()
	p := &writer{}
	fmt.Fprintf(&p.b, ".TH %q %s %q %q %q\n", strings.ToUpper(name(c)), Section, s.Date, s.Version, s.Manual)
	p.macro("SH", "NAME")
	p.filled(escape(name(c)) + ` \- ` + escape(lowerFirst(strings.TrimSuffix(c.Short, "."))))
	if c.Runnable() || len(shown(c)) > 0 {
		p.macro("SH", "SYNOPSIS")
		p.line(bold(c.CommandPath()) + escape(strings.TrimPrefix(c.UseLine(), c.CommandPath())))
	}
	p.macro("SH", "DESCRIPTION")
	text := c.Long
	if text == "" {
		text = c.Short + "."
	}
	p.text(text)
	if subs := shown(c); len(subs) > 0 {
		p.macro("SH", "COMMANDS")
		for _, sub := range subs {
			p.macro("TP")
			p.line(bold(strings.TrimPrefix(sub.CommandPath(), c.Root().Name()+" ")))
			p.filled(escape(sub.Short) + ".")
		}
	}
	p.options("OPTIONS", c.NonInheritedFlags())
	p.options("OPTIONS OF THE WHOLE COMMAND", c.InheritedFlags())
	if c.Example != "" {
		p.macro("SH", "EXAMPLES")
		p.kept(strings.Split(strings.TrimRight(c.Example, "\n"), "\n"))
	}
	p.related(c)
	return p.b.Bytes()
}

// related names the pages beside, above and below.
func (p *writer) related(c *cobra.Command) {
	var names []string
	if c.HasParent() {
		names = append(names, name(c.Parent()))
		for _, sub := range shown(c.Parent()) {
			if sub != c {
				names = append(names, name(sub))
			}
		}
	}
	for _, sub := range shown(c) {
		names = append(names, name(sub))
	}
	if len(names) == 0 {
		return
	}
	sort.Strings(names)
	p.macro("SH", "SEE ALSO")
	for i, n := range names {
		end := ","
		if i == len(names)-1 {
			end = ""
		}
		fmt.Fprintf(&p.b, ".BR %s (%s)%s\n", escape(n), Section, end)
	}
}

// options writes flags, each with what it takes.
func (p *writer) options(head string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	p.macro("SH", head)
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		takes, usage := pflag.UnquoteUsage(f)
		line := bold("--" + f.Name)
		if f.Shorthand != "" {
			line = bold("-"+f.Shorthand) + ", " + line
		}
		if takes != "" {
			line += ` \fI` + escape(takes) + `\fR`
		}
		p.macro("TP")
		p.line(line)
		if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "[]" && f.DefValue != "0" {
			usage += " (default " + f.DefValue + ")"
		}
		p.filled(escape(upperFirst(usage)) + ".")
	})
}

// writer gathers a page.
type writer struct{ b bytes.Buffer }

func (p *writer) macro(name string, args ...string) {
	p.b.WriteString("." + name)
	for _, a := range args {
		p.b.WriteString(` "` + strings.ReplaceAll(escape(a), `"`, `\(dq`) + `"`)
	}
	p.b.WriteByte('\n')
}

// line writes a line of text; a point or an apostrophe at its head would be taken for a macro.
func (p *writer) line(s string) {
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	p.b.WriteString(s + "\n")
}

// widest is the longest line of input, in bytes, that checkers of manual pages let pass.
const widest = 80

// filled writes text in lines of input that are not too long; a reader fills them anew.
func (p *writer) filled(text string) {
	line := ""
	for _, w := range strings.Fields(text) {
		if line != "" && weight(line)+1+weight(w) > widest {
			p.line(line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	p.line(line)
}

// weight is the length of text as checkers count it: a letter beyond ASCII as the eight bytes of \[u00B0].
func weight(s string) int {
	n := 0
	for _, r := range s {
		if n++; r > 0x7e {
			n += 7
		}
	}
	return n
}

// text writes paragraphs, and lines that are set in as they are.
func (p *writer) text(text string) {
	first := true
	for _, block := range strings.Split(strings.Trim(text, "\n"), "\n\n") {
		lines := strings.Split(block, "\n")
		for len(lines) > 0 {
			n := 0
			in := strings.HasPrefix(lines[0], "  ")
			for n < len(lines) && strings.HasPrefix(lines[n], "  ") == in {
				n++
			}
			if !first {
				p.macro("PP")
			}
			first = false
			if in {
				p.kept(lines[:n])
			} else {
				p.filled(escape(strings.Join(lines[:n], " ")))
			}
			lines = lines[n:]
		}
	}
}

// kept writes lines that are not filled, without their common indent.
func (p *writer) kept(lines []string) {
	p.b.WriteString(".EX\n")
	for _, l := range lines {
		p.line(escape(strings.TrimPrefix(l, "  ")))
	}
	p.b.WriteString(".EE\n")
}

func bold(s string) string { return `\fB` + escape(s) + `\fR` }

// escape writes text so that nothing in it is taken for a request. A hyphen is written as the sign that can be copied.
func escape(s string) string {
	return strings.NewReplacer(`\`, `\e`, `-`, `\-`, "`", `\(ga`, "^", `\(ha`, "~", `\(ti`).Replace(s)
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
