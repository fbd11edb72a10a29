package deliver

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// element is an open element of a page.
type element struct {
	name          string
	attr          map[string]string
	text          strings.Builder
	draws, tables int
	title, desc   bool
}

// heard walks a report as a screen reader hears it and lists what it would miss: a drawing without title or description, a
// drawing whose part of the page holds no table, a table without caption, a heading cell that does not say what it heads.
func heard(t *testing.T, page []byte) (drawings int, missed []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var open []*element
	ids := map[string]bool{}
	holder := func() *element { // the part of the page that a drawing shares with its table
		for i := len(open) - 1; i >= 0; i-- {
			if e := open[i]; e.name == "section" || e.attr["class"] == "part" || strings.HasPrefix(e.attr["class"], "part ") {
				return e
			}
		}
		t.Fatal("a drawing or table stands outside every section")
		return nil
	}
	miss := func(what string, e *element) {
		missed = append(missed, what+": "+e.name+" "+e.attr["class"]+" "+e.attr["aria-labelledby"])
	}
	for {
		token, err := d.Token()
		if err == io.EOF {
			return drawings, missed
		}
		if err != nil {
			t.Fatal(err)
		}
		switch k := token.(type) {
		case xml.StartElement:
			e := &element{name: k.Name.Local, attr: map[string]string{}}
			for _, a := range k.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			if id := e.attr["id"]; id != "" {
				if ids[id] {
					missed = append(missed, "an id twice: "+id)
				}
				ids[id] = true
			}
			open = append(open, e)
			switch {
			case e.attr["class"] == "draw":
				holder().draws++
			case e.name == "table":
				holder().tables++
			case e.name == "th" && e.attr["scope"] == "":
				miss("no scope", e)
			}
		case xml.CharData:
			for _, e := range open {
				if e.name == "title" || e.name == "desc" || e.name == "caption" {
					e.text.Write(k)
				}
			}
		case xml.EndElement:
			e := open[len(open)-1]
			open = open[:len(open)-1]
			said := strings.TrimSpace(e.text.String()) != ""
			switch e.name {
			case "title", "desc":
				if len(open) > 0 && open[len(open)-1].name == "svg" {
					p := open[len(open)-1]
					p.title, p.desc = p.title || e.name == "title" && said, p.desc || e.name == "desc" && said
				}
			case "caption":
				open[len(open)-1].title = said
			case "table":
				if !e.title {
					miss("no caption", e)
				}
			case "svg":
				if e.attr["aria-hidden"] == "true" {
					break
				}
				drawings++
				if !e.title || !e.desc || e.attr["role"] != "img" {
					miss("no title or description", e)
				}
				for _, id := range strings.Fields(e.attr["aria-labelledby"]) {
					if !ids[id] {
						miss("named by nothing: "+id, e)
					}
				}
			}
			if e.draws > 0 && e.tables == 0 {
				miss("no table beside the drawing", e)
			}
		}
	}
}

// TestEveryDrawingIsHeard walks the reports of the demonstration lines.
func TestEveryDrawingIsHeard(t *testing.T) {
	for _, name := range demoNames {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var b bytes.Buffer
			if err := HTML(&b, solvedDemo(t, name), Options{}); err != nil {
				t.Fatal(err)
			}
			drawings, missed := heard(t, b.Bytes())
			if drawings < 40 {
				t.Errorf("only %d drawings were found", drawings)
			}
			for _, m := range missed {
				t.Error(m)
			}
		})
	}
}

// TestWhatIsNotHeardIsFound breaks a page in each way.
func TestWhatIsNotHeardIsFound(t *testing.T) {
	svg := `<svg role="img" aria-labelledby="a b"><title id="a">T</title><desc id="b">D</desc></svg>`
	whole := `<html><body><section><div class="draw">` + svg + `</div><table><caption>C</caption><tr><th scope="col">h</th></tr></table></section></body></html>`
	if n, missed := heard(t, []byte(whole)); n != 1 || len(missed) != 0 {
		t.Fatalf("the whole page: %d drawings, %q", n, missed)
	}
	for _, c := range [][2]string{{`<desc id="b">D</desc>`, `<desc id="b"> </desc>`}, {`<title id="a">T</title>`, ``}, {`<caption>C</caption>`, ``}, {` scope="col"`, ``},
		{`<table><caption>C</caption><tr><th scope="col">h</th></tr></table>`, ``}, {`<body>`, `<body id="a">`}} {
		if _, missed := heard(t, []byte(strings.Replace(whole, c[0], c[1], 1))); len(missed) == 0 {
			t.Errorf("nothing was missed without %s", c[0])
		}
	}
}
