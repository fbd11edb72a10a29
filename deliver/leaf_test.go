package deliver

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
)

// testPaper holds every kind of leaf, with texts that would break a page which does not escape them.
func testPaper() *paper {
	c := &canvas{w: 300, h: 80, id: "pp", class: "print", title: "A line & its <end>", desc: "One line."}
	c.line("rule", 10, 40, 290, 40)
	c.text(20, 30, "rising < falling", faceLabel, setting{})
	t := &table{Caption: "Readings", Heads: heads("what", ">head|m", "state")}
	t.row("", wide("Valve 1"), cellOf("0.42"), tableCell{Text: "tight", Icon: "", Mark: "tight"})
	t.row("drips", wide("Valve 2 & its pit"), cellOf("12.08"), cellOf("drips"))
	p := &paper{Title: "Commissioning of <Ridge>", Subtitle: "What to do, in order", Version: "0.1.0",
		Block: []blockItem{{Term: "Date", Text: "2026-03-01"}, {Term: "To be checked", Text: "name, date", Check: true}},
		Foot:  "Ridge, version 3", Law: true, Author: "Test", Date: "2026-03-01"}
	p.head(1, "Filling & venting", "Slowly.")
	p.text("Slow first.", "Fill at 0.3 m/s until water stands in the last pit.")
	p.add(textLeaf{Text: "As given by the line.", Quiet: true}, textLeaf{State: "drips", Lead: "Valve 2", Text: "drips when standing."})
	p.add(listLeaf{Lead: "Bring", Items: []listItem{{"Gauge", "0 to 4 bar, class 0.6"}, {"", "Bucket"}}},
		listLeaf{Items: []listItem{{"Open", "the scour"}, {"Shut", "the scour"}}, Numbered: true, Columns: 2})
	p.head(2, "Readings to take", "At each valve.")
	p.table(t)
	p.add(plainLeaf{&plainTable{Caption: "Order", Heads: []string{"step", "valve"}, Rows: [][]string{{"1", "Valve 1"}, {"2", "Valve 2"}}}})
	p.add(drawLeaf{Drawings: []*canvas{c}, Note: "Not to scale."}, cautionLeaf{"Never stand over a venting valve."})
	p.head(3, "To be ticked", "")
	p.add(tickLeaf{Text: "Scour shut"}, tickLeaf{Text: "Valve 1 tight", Label: "head, m", Write: true}, fieldsLeaf{Labels: []string{"Filled by", "Date", "Rate"}, Columns: 3})
	p.add(breakLeaf{})
	p.head(1, "Signed", "")
	return p
}

func TestPaperHTML(t *testing.T) {
	var b, again bytes.Buffer
	if err := testPaper().html(&b); err != nil {
		t.Fatal(err)
	}
	if err := testPaper().html(&again); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same paper gave different bytes")
	}
	page := b.String()
	for _, want := range []string{"Commissioning of &lt;Ridge&gt;", "<h2>Filling &amp; venting</h2>", "<h3>Readings to take</h3>", "<h4>To be ticked</h4>",
		"<b>Slow first.</b> Fill at 0.3 m/s", "<li><b>Gauge</b> 0 to 4 bar, class 0.6</li>", `<ol class="li" style="columns:2">`, `class="r-drips"`,
		"<b>Caution.</b> Never stand over", `<span class="wr">head, m<i></i></span>`, "repeat(3,minmax(0,1fr))", `class="newpage"`, law, `<td class="n">12.08</td>`, "rising &lt; falling", "w-drips"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, bad := range []string{"<script", "http://", "https://", "ZgotmplZ"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	body := page[strings.Index(page, "<body"):strings.Index(page, "</html>")]
	d := xml.NewDecoder(strings.NewReader(strings.ReplaceAll(body, "<br>", "<br/>")))
	d.Entity = xml.HTMLEntity
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("tags do not close: %v", err)
		}
	}
}
