package report

import (
	"strings"
	"testing"
	"time"
)

// The card and the handover say who approved the reference and when, in either language, or that nobody did.
func TestApprovalIsSaid(t *testing.T) {
	at := time.Date(2026, 11, 20, 9, 30, 0, 0, shiftZone)
	approved := []Approval{{By: "A. <b>Miller</b>", Note: "held against the laboratory.", At: at}}
	for _, c := range []struct {
		language   *Language
		approved   []Approval
		unapproved bool
		want       string
	}{
		{English(), approved, false, "Approved by A. &lt;b&gt;Miller&lt;/b&gt;, Friday 20 November 2026, 09:30: held against the laboratory."},
		{German(), approved, false, "Freigegeben von A. &lt;b&gt;Miller&lt;/b&gt;, Freitag, 20. November 2026, 09:30 Uhr: held against the laboratory."},
		{English(), nil, true, "Nobody has approved this version of the reference."},
		{German(), nil, true, "Niemand hat diese Version der Referenz freigegeben."},
	} {
		card := sampleCard()
		card.Language, card.Approved, card.Unapproved = c.language, c.approved, c.unapproved
		h := sampleHandover(false)
		h.Language, h.Reference.Approved, h.Reference.Unapproved = c.language, c.approved, c.unapproved
		for name, render := range map[string]func() (Page, error){"card": card.Render, "handover": h.Render} {
			p, err := render()
			if err != nil {
				t.Fatal(err)
			}
			if n := strings.Count(string(p.HTML), c.want); n != 1 {
				t.Errorf("%s in %s says %q %d times, want once", name, c.language.Tag, c.want, n)
			}
		}
	}
}

func TestCardSaysWhereTheReferenceComesFrom(t *testing.T) {
	c := sampleCard()
	c.Source = Source{Computer: "office-7", Program: "0123456789ab", Folders: []string{`D:\good\may`, "/data/june"}, Files: 7482, Bytes: 61_234_567,
		Written: time.Date(2026, 11, 19, 22, 1, 0, 0, shiftZone)}
	for i := range c.Runs {
		c.Runs[i].Files = 360 + i
	}
	p, err := c.Render()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Learned on the computer office-7, by asusual 0123456789ab.",
		`From 7,482 files, 61.2 MB, the newest written Thursday 19 November 2026, 22:01, in D:\good\may, /data/june.`, ">files</th>", ">361</td>"} {
		if !strings.Contains(string(p.HTML), want) {
			t.Errorf("the card does not say %q", want)
		}
	}
}
