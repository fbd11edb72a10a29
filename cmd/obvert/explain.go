package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
	"obvert/study/explain"
)

func explainCommand(c *console) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "explain [ID]",
		Short: "Say what a finding, warning, assumption or rule means",
		Long: `Explain says of a finding, a note, a warning, a remark, an assumption or a
threshold of the practice what it means, why it matters, what can be done, where
its figures come from, and what to be careful of.

Its ID stands below each finding, in the result as JSON, and behind the word
warning or remark where a file was read. Without an ID all are listed, by group;
with the first or the last part of one, those that have it.`,
		Example: `  obvert explain sealing.drips
  obvert explain practice.slam
  obvert explain practice
  obvert explain`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError{fmt.Errorf("%q is one argument too many", args[1])}
			}
			return nil
		},
		ValidArgsFunction: first(func(string) []string {
			var all []string
			for _, p := range explain.Pages() {
				all = append(all, p.ID+"\t"+p.Title)
			}
			return all
		}),
		RunE: func(_ *cobra.Command, args []string) error {
			pages := explain.Pages()
			if len(args) == 0 {
				if asJSON {
					return deliver.Encode(c.out, struct{ Pages []explain.Page }{pages})
				}
				c.pages(pages)
				return nil
			}
			page, ok := explain.Find(args[0])
			if !ok {
				near := explain.Near(args[0])
				if len(near) < 2 {
					return noSuchPage(args[0], near)
				}
				if asJSON {
					return deliver.Encode(c.out, struct{ Pages []explain.Page }{near})
				}
				c.pages(near)
				return nil
			}
			if asJSON {
				return deliver.Encode(c.out, page)
			}
			c.page(&page)
			return nil
		},
	}
	jsonFlag(cmd, &asJSON)
	return cmd
}

// noSuchPage is an id that has no page, with the nearest that has one.
func noSuchPage(id string, near []explain.Page) error {
	f := document.Fault{What: fmt.Sprintf("nothing is called %q", id), Hint: "see the list that obvert explain prints"}
	if len(near) > 0 {
		f.Hint = fmt.Sprintf("did you mean %s (%s)?", near[0].ID, lower(near[0].Title))
	}
	return document.Faults{f}
}

// lower takes a clause's capital away.
func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// page writes one page.
func (c *console) page(p *explain.Page) {
	c.line(c.paint(strong, p.Title))
	c.line(c.paint(faint, p.ID+" · "+p.Group))
	for _, text := range []string{p.Means, p.Why} {
		c.line()
		c.line(wrap(text, c.width, 0))
	}
	c.line()
	c.labelled(green, "do", p.Do)
	c.labelled("", "source", upper(p.Source)+".")
	for _, s := range p.Cautions {
		c.labelled(yellow, "caution", s)
	}
}

// pages writes ids with their titles, by group.
func (c *console) pages(all []explain.Page) {
	wide := 0
	for _, p := range all {
		wide = max(wide, columns(p.ID))
	}
	group := ""
	for i, p := range all {
		if p.Group != group {
			if i > 0 {
				c.line()
			}
			group = p.Group
			c.line(c.paint(strong, group))
		}
		c.line("  ", p.ID, strings.Repeat(" ", wide-columns(p.ID)+2), strings.Join(wrapLines(p.Title, c.width-wide-4, c.width-wide-4), "\n"+strings.Repeat(" ", wide+4)))
	}
}
