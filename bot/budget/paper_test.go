package budget_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot/budget"
	"kitbell/bot/sheet"
)

// A draft says that it is one; what was handed in says its number, day and signer,
// and what became of it.
func TestPaper(t *testing.T) {
	draft := words(textOf(t, printed(t, fullRequest(t), shown())))
	frozen := words(textOf(t, printed(t, fullLife(t), shown())))
	for _, row := range []struct{ name, in, text string }{
		{"title", draft, "Budget request, fiscal years 2028 to 2030\nTarn Harbor Fire Department\nDraft of 15 Mar 2027. Nobody has signed it."},
		{"signer", frozen, "Request 2028-1, handed in on 20 Mar 2027, signed by Lt. Ines Okafor."},
		{"arithmetic", draft, "How many: 1 × 11 kits + 2 (all 11 in service)."},
		{"reason", draft, "Wish. Ours bend on heavy doors. 4 crews ask for it."},
		{"what is in no total", draft, "something without a price\n2\nin no total\nOwn line. How many: 2. Nobody has a price for it."},
		{"why it is in none", draft, "Nobody has a price for the something without a price. It is in no total."},
		{"the model's label", draft, "nobody measured these figures"},
		{"the model's bias", draft, "31 of 52 entry calls recorded. Recorded calls are a sample that nobody drew"},
		{"the prior's label", draft, "prior (assumed)"},
		{"the grant", frozen, "2028: asked $4,289.07, granted $3,193.89, paid $620.00."},
		{"a correction", frozen, "Correction, in no sum: 1 Jul 2027: corrected, $120.00, the council's word"},
		{"digest", frozen, "SHA-256 of what was signed"},
	} {
		if !strings.Contains(row.in, row.text) {
			t.Errorf("%s: no %q", row.name, row.text)
		}
	}
	if strings.Contains(draft, "became of it") || strings.Contains(frozen, "Draft") || strings.Contains(frozen, "ines-okafor") {
		t.Error("a draft has no life, and what was handed in is no draft")
	}
}

// The model's column has pages of its own, that say so first.
func TestModelByItself(t *testing.T) {
	texts := textOf(t, printed(t, fullRequest(t), shown()))
	first := map[int]string{}
	model := 0
	for _, text := range texts {
		if _, begun := first[text.page]; !begun && !strings.HasPrefix(text.words, "Page ") && !strings.HasSuffix(text.words, "signed it. Tarn Harbor Fire Department") {
			first[text.page] = text.words
		}
		if strings.Contains(text.words, "(model)") || strings.Contains(text.words, "minutes saved") {
			model = text.page
		}
	}
	if model == 0 || first[model] != "What the door model says" {
		t.Errorf("the model's page %d begins with %q", model, first[model])
	}
	plain, err := budget.Build(fullBasis())
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(words(textOf(t, printed(t, plain, shown()))), "door model") {
		t.Error("nobody asked the model")
	}
}

// The same request gives the same bytes, whenever it is written.
func TestPaperSameBytes(t *testing.T) {
	s := fullLife(t)
	if !bytes.Equal(printed(t, s, shown()), printed(t, s, shown())) {
		t.Error("PDF differs")
	}
	if !bytes.Equal(xlsx(t, s.Workbook(shown())), xlsx(t, s.Workbook(shown()))) {
		t.Error("XLSX differs")
	}
	later := shown()
	later.Made = later.Made.Add(24 * time.Hour)
	if bytes.Equal(printed(t, s, shown()), printed(t, s, later)) {
		t.Error("the day is not in it")
	}
}

// Long texts stay on the paper: within the margins, and on as many pages as they
// need, each with its number and the headings of its table.
func TestNothingOverflows(t *testing.T) {
	letter, a4 := shown(), shown()
	a4.Paper = sheet.A4
	endless := fullBasis()
	for i := range endless.Asks {
		endless.Asks[i].Title = strings.Repeat(endless.Asks[i].Key, 60) + " " + strings.Repeat("a long name ", 30)
		endless.Asks[i].Why = strings.Repeat("a reason that goes on and on, 世界 \U0001F692\tand\r\non ", 300)
		endless.Asks[i].Price.From = strings.Repeat("W", 900)
	}
	long := shown()
	long.Department = strings.Repeat("Département ", 40)
	wide := fullBasis()
	wide.Years = 10
	wide.Asks = append(wide.Asks, budget.Ask{Own: true, Title: "dear", Pieces: 999_999, Price: budget.Price{Cents: 999_999_999, Source: budget.AskersPrice}})
	for _, row := range []struct {
		name          string
		basis         budget.Basis
		shown         budget.Presentation
		width, height float64 // in points
	}{
		{"letter", fullBasis(), letter, 612, 792},
		{"A4", fullBasis(), a4, 595.28, 841.89},
		{"long texts", endless, long, 612, 792},
		{"ten years and great amounts", wide, a4, 595.28, 841.89},
		{"nothing in it", budget.Basis{Terms: fullBasis().Terms, Lists: fullBasis().Lists, InForce: 3, Year: 2028, Calendar: july, Now: on("2027-03-15")}, letter, 612, 792},
	} {
		r := modelled(build(t, row.basis))
		texts := textOf(t, printed(t, r, row.shown))
		last := onThePaper(t, row.name, texts, row.width, row.height)
		all := words(texts)
		if headings := strings.Count(all, "what, and why"); row.name == "long texts" && headings < last-3 {
			t.Errorf("%s: headings on %d of %d pages", row.name, headings, last)
		}
	}
}

// A paragraph that is longer than a page goes on to the next.
func TestLongParagraph(t *testing.T) {
	s := fullLife(t)
	s.Corrections[1].Reason = strings.Repeat("it was not so, and ", 800)
	texts := textOf(t, printed(t, s, shown()))
	onThePaper(t, "a long correction", texts, 612, 792)
	if n := strings.Count(strings.ReplaceAll(words(texts), "\n", " "), "it was not so, and"); n < 790 { // but where a line or page ends in it
		t.Errorf("%d of 800", n)
	}
}

// onThePaper holds texts to the margins, and pages to their numbers; it gives how
// many pages there are.
func onThePaper(t *testing.T, name string, texts []setText, width, height float64) int {
	t.Helper()
	const margin = 15 * 72 / 25.4
	for _, text := range texts {
		if text.x < margin-0.1 || text.x+text.width > width-margin+0.6 || text.y < 20 || text.y > height-margin+0.1 {
			t.Errorf("%s: page %d at %.1f, %.1f: %.1f wide: %q", name, text.page, text.x, text.y, text.width, text.words)
		}
	}
	last, all := texts[len(texts)-1].page, words(texts)
	for page := 1; page <= last; page++ {
		if !strings.Contains(all, fmt.Sprintf("Page %d of %d", page, last)) {
			t.Errorf("%s: page %d of %d has no number", name, page, last)
		}
	}
	return last
}
