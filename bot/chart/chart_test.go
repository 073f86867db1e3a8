package chart_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kitbell/bot/chart"
)

var update = flag.Bool("update", false, "write the golden images anew")

// drawer is what all figures are.
type drawer = chart.Figures

func weeks(n int) []time.Time {
	var all []time.Time
	for i := range n {
		all = append(all, time.Date(2026, time.October, 5+7*i, 0, 0, 0, 0, time.UTC))
	}
	return all
}

// grid is the demo department's kits over eight weeks.
func grid() chart.Readiness {
	r := chart.Readiness{Title: "Kits ready, week by week", Weeks: weeks(8)}
	letters := map[rune]chart.State{'c': chart.Complete, 's': chart.Short, 'n': chart.NotChecked, 'x': chart.OutOfService}
	for _, row := range []struct{ kit, weeks string }{
		{"Engine 1", "cccccccc"}, {"Ladder 1", "ccscccnc"}, {"Engine 2", "ncccssss"}, {"Rescue 2", "cccccccc"}, {"Engine 3", "cccxxccc"},
		{"Engine 4", "cssscccc"}, {"Ladder 4", "cccccccn"}, {"Engine 5", "ssssssss"}, {"Engine 6", "cccccccc"}, {"Tower 6", "snnnccxx"}, {"Engine 7", "ccccccsc"},
	} {
		k := chart.KitWeeks{Kit: row.kit}
		for _, letter := range row.weeks {
			k.States = append(k.States, letters[letter])
		}
		r.Kits = append(r.Kits, k)
	}
	return r
}

func shortages() chart.Shortages {
	return chart.Shortages{Title: "Short today, by item", Items: []chart.Count{
		{"air-duster", 1}, {"latch-film", 7}, {"wood-wedge", 12}, {"traveler-hook-small", 2}, {"under-door-lever", 2}, {"notched-card", 4}, {"utility-key", 0},
	}}
}

func coverage() chart.Coverage {
	return chart.Coverage{Title: "Topics drilled since July, by crew", Crews: []chart.CrewTopics{
		{"Engine 1, A platoon", 12, 12}, {"Engine 1, B platoon", 7, 12}, {"Ladder 1, A platoon", 11, 12}, {"Tower 6, C platoon", 1, 12}, {"Engine 7, C platoon", 0, 12}, {"Boat 5, A platoon", 0, 0},
	}}
}

func spend() chart.Spend {
	return chart.Spend{Title: "The kit programme's money by fiscal year", Currency: "USD", Years: []chart.Year{
		{"FY 2025", chart.Known(840_000), chart.Known(600_000), chart.Known(587_215)},
		{"FY 2026", chart.Known(1_022_450), chart.Known(1_022_450), chart.Known(310_000)},
		{"FY 2027", chart.Known(1_250_000), chart.Amount{}, chart.Known(0)},
	}}
}

func all() map[string]drawer {
	return map[string]drawer{"readiness": grid(), "shortages": shortages(), "coverage": coverage(), "spend": spend(),
		"empty": chart.Shortages{Title: "Short today, by item"}}
}

func draw(t interface{ Fatal(...any) }, d drawer, width int) chart.Picture {
	p, err := d.Draw(chart.Options{Width: width})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func decode(t interface{ Fatal(...any) }, data []byte) image.Image {
	picture, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return picture
}

// Goldens are compared with room for another rasteriser's edges.
func TestGolden(t *testing.T) {
	for name, d := range all() {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join("testdata", name+".png")
			got := draw(t, d, 400).PNG
			if *update {
				if err := os.WriteFile(file, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, decode(t, want), decode(t, got))
		})
	}
}

// compare allows one pixel in a hundred to differ by more than a tenth.
func compare(t *testing.T, want, got image.Image) {
	t.Helper()
	if want.Bounds() != got.Bounds() {
		t.Fatalf("size %v, want %v", got.Bounds(), want.Bounds())
	}
	const tenth = 0xffff / 10
	apart := func(a, b uint32) bool { return max(a, b)-min(a, b) > tenth }
	off, b := 0, got.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r0, g0, b0, _ := want.At(x, y).RGBA()
			r1, g1, b1, _ := got.At(x, y).RGBA()
			if apart(r0, r1) || apart(g0, g1) || apart(b0, b1) {
				off++
			}
		}
	}
	if share := float64(off) / float64(b.Dx()*b.Dy()); share > 0.01 {
		t.Errorf("%.1f %% of the pixels differ; look at the image, then run with -update", 100*share)
	}
}

func TestSameBytes(t *testing.T) {
	for name, d := range all() {
		first := draw(t, d, 400)
		for range 2 {
			if next := draw(t, d, 400); !bytes.Equal(first.PNG, next.PNG) || !bytes.Equal(first.SVG, next.SVG) || first.Alt != next.Alt {
				t.Errorf("%s: drawn in another way", name)
			}
		}
	}
}

// The words say what the drawing shows, the summary first.
func TestAlt(t *testing.T) {
	for name, want := range map[string]string{
		"readiness": "Kits ready, week by week. 11 kits by 8 weeks, from 5 October 2026 to 23 November 2026. In the last week: 7 complete, 2 short, 1 not checked, 1 out of service. " +
			"Engine 1: complete 8 weeks. Ladder 1: complete 2 weeks, then short 1 week, then complete 3 weeks, then not checked 1 week, then complete 1 week. " +
			"Engine 2: not checked 1 week, then complete 3 weeks, then short 4 weeks. Rescue 2: complete 8 weeks. " +
			"Engine 3: complete 3 weeks, then out of service 2 weeks, then complete 3 weeks. Engine 4: complete 1 week, then short 3 weeks, then complete 4 weeks. " +
			"Ladder 4: complete 7 weeks, then not checked 1 week. Engine 5: short 8 weeks. Engine 6: complete 8 weeks. " +
			"Tower 6: short 1 week, then not checked 3 weeks, then complete 2 weeks, then out of service 2 weeks. " +
			"Engine 7: complete 6 weeks, then short 1 week, then complete 1 week.",
		"shortages": "Short today, by item. 28 short, of 6 items: wood-wedge 12, latch-film 7, notched-card 4, traveler-hook-small 2, under-door-lever 2, air-duster 1.",
		"coverage": "Topics drilled since July, by crew. 6 crews, together 31 of 60, 51 %. Engine 1, A platoon 12 of 12, 100 %; Engine 1, B platoon 7 of 12, 58 %; " +
			"Ladder 1, A platoon 11 of 12, 91 %; Tower 6, C platoon 1 of 12, 8 %; Engine 7, C platoon 0 of 12, 0 %; Boat 5, A platoon no topics.",
		"spend": "The kit programme's money by fiscal year. 3 years. FY 2025: asked $8,400, granted $6,000, bought $5,872.15. " +
			"FY 2026: asked $10,224.50, granted $10,224.50, bought $3,100. FY 2027: asked $12,500, granted not known yet, bought $0.",
		"empty": "Short today, by item. Nothing is short.",
	} {
		if got := draw(t, all()[name], 200).Alt; got != want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, want)
		}
	}
}

// words are the texts of an SVG in their order, and its description.
func words(t interface{ Fatal(...any) }, svg []byte) (texts []string, description string) {
	d := xml.NewDecoder(bytes.NewReader(svg))
	in := ""
	for {
		token, err := d.Token()
		if err == io.EOF {
			return texts, description
		}
		if err != nil {
			t.Fatal(err, string(svg))
		}
		switch token := token.(type) {
		case xml.StartElement:
			in = token.Name.Local
		case xml.EndElement:
			in = ""
		case xml.CharData:
			switch in {
			case "text":
				texts = append(texts, string(token))
			case "desc":
				description += string(token)
			}
		}
	}
}

// Each state has a letter as well as a colour, each bar its figures, and a reader
// of screens is told what is there.
func TestWordsInDrawings(t *testing.T) {
	for name, want := range map[string]string{
		"readiness": "Kits ready, week by week|5|Oct|12|19|26|2|Nov|9|16|23|Engine 1|C|C|C|C|C|C|C|C|Ladder 1|C|C|S|C|C|C|N|C|",
		"shortages": "Short today, by item|wood-wedge|12|latch-film|7|notched-card|4|traveler-hook-small|2|under-door-lever|2|air-duster|1",
		"coverage":  "Topics drilled since July, by crew|Engine 1, A platoon|12 of 12, 100 %|Engine 1, B platoon|7 of 12, 58 %|",
		"spend":     "The kit programme's money by fiscal year|FY 2025|asked|$8,400|granted|$6,000|bought|$5,872.15|FY 2026|",
		"empty":     "Short today, by item|Nothing is short.",
	} {
		picture := draw(t, all()[name], 400)
		texts, description := words(t, picture.SVG)
		if got := strings.Join(texts, "|"); !strings.HasPrefix(got, want) {
			t.Errorf("%s says %s\nwant %s", name, got, want)
		}
		if widths := bytes.Count(picture.SVG, []byte("<text textLength=")); widths != len(texts) {
			t.Errorf("%s has %d texts, and widths for %d", name, len(texts), widths)
		}
		if description != picture.Alt || !bytes.Contains(picture.SVG, []byte(`role="img"`)) {
			t.Errorf("%s is described as %q", name, description)
		}
	}
	if texts, _ := words(t, draw(t, grid(), 0).SVG); strings.Join(texts[len(texts)-8:], "|") != "C|complete|S|short|N|not checked|X|out of service" {
		t.Errorf("legend %q", texts[len(texts)-8:])
	}
}

// A long title takes several lines and loses no word; a long name keeps both ends.
func TestLongWords(t *testing.T) {
	r := grid()
	r.Title = "Kits ready, week by week, of all stations from the first of October to the end of November, by what the crews found"
	r.Kits[0].Kit = "Spare on the quartermaster's shelf, no. 12"
	texts, _ := words(t, draw(t, r, 400).SVG)
	if got := strings.Join(texts, " "); !strings.HasPrefix(got, r.Title) || len(texts[0]) > 60 {
		t.Error(got)
	}
	if !slices.ContainsFunc(texts, func(s string) bool { return strings.HasPrefix(s, "Spare") && strings.HasSuffix(s, "…o. 12") }) {
		t.Errorf("%q", texts)
	}
}

func TestEmpty(t *testing.T) {
	for name, row := range map[string]struct {
		d    drawer
		want string
	}{
		"no kits":        {chart.Readiness{Title: "Ready", Weeks: weeks(2)}, "There is no kit or no week to show."},
		"no weeks":       {chart.Readiness{Title: "Ready", Kits: []chart.KitWeeks{{Kit: "Engine 1"}}}, "There is no kit or no week to show."},
		"nothing short":  {chart.Shortages{Title: "Ready", Items: []chart.Count{{"air-wedge", 0}}}, "Nothing is short."},
		"no crews":       {chart.Coverage{Title: "Ready"}, "There is no crew to show."},
		"no years":       {chart.Spend{Title: "Ready", Currency: "USD"}, "There is no year to show."},
		"without titles": {chart.Coverage{}, "There is no crew to show."},
	} {
		picture := draw(t, row.d, 0)
		if texts, _ := words(t, picture.SVG); texts[len(texts)-1] != row.want || !strings.Contains(picture.Alt, row.want) {
			t.Errorf("%s: %q, %q", name, texts, picture.Alt)
		}
	}
}

func TestRefused(t *testing.T) {
	changed := func(change func(r *chart.Readiness)) chart.Readiness {
		r := grid()
		change(&r)
		return r
	}
	for name, d := range map[string]drawer{
		"a week twice":         changed(func(r *chart.Readiness) { r.Weeks[1] = r.Weeks[0] }),
		"more weeks than fit":  changed(func(r *chart.Readiness) { r.Weeks = weeks(14) }),
		"more kits than fit":   changed(func(r *chart.Readiness) { r.Kits = make([]chart.KitWeeks, 61) }),
		"a state too few":      changed(func(r *chart.Readiness) { r.Kits[2].States = r.Kits[2].States[:7] }),
		"no such state":        changed(func(r *chart.Readiness) { r.Kits[2].States[0] = 4 }),
		"a state below all":    changed(func(r *chart.Readiness) { r.Kits[2].States[0] = -1 }),
		"a kit with no name":   changed(func(r *chart.Readiness) { r.Kits[2].Kit = " \t" }),
		"a count below zero":   chart.Shortages{Items: []chart.Count{{"air-wedge", -1}}},
		"an item twice":        chart.Shortages{Items: []chart.Count{{"air-wedge", 1}, {"air-wedge", 1}}},
		"an item with no name": chart.Shortages{Items: []chart.Count{{"", 1}}},
		"more than all":        chart.Coverage{Crews: []chart.CrewTopics{{"Engine 1", 2, 1}}},
		"less than none":       chart.Coverage{Crews: []chart.CrewTopics{{"Engine 1", -1, 1}}},
		"a crew with no name":  chart.Coverage{Crews: []chart.CrewTopics{{"", 0, 1}}},
		"crews past all":       chart.Coverage{Crews: make([]chart.CrewTopics, 61)},
		"money below zero":     chart.Spend{Currency: "USD", Years: []chart.Year{{Year: "FY 2027", Bought: chart.Known(-1)}}},
		"unknown, yet some":    chart.Spend{Currency: "USD", Years: []chart.Year{{Year: "FY 2027", Asked: chart.Amount{Cents: 5}}}},
		"a year with no name":  chart.Spend{Currency: "USD", Years: []chart.Year{{}}},
		"no currency":          chart.Spend{Currency: "$"},
		"years past all":       chart.Spend{Currency: "USD", Years: make([]chart.Year, 13)},
	} {
		if picture, err := d.Draw(chart.Options{}); !errors.Is(err, chart.ErrData) || picture.Alt != "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	for width, fits := range map[int]bool{0: true, 200: true, 2400: true, 199: false, 2401: false, -1: false} {
		if _, err := (chart.Coverage{}).Draw(chart.Options{Width: width}); (err == nil) != fits {
			t.Errorf("width %d: %v", width, err)
		}
	}
}

// Whatever things are called, the drawing is well-formed and its words stay inside.
func TestAnyWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.String(), rapid.StringN(0, 200, -1), rapid.StringMatching(`[<>&"' a-z]{0,60}`))
		r := chart.Readiness{Title: name.Draw(t, "title"), Weeks: weeks(rapid.IntRange(1, 13).Draw(t, "weeks")),
			Kits: []chart.KitWeeks{{Kit: "k" + name.Draw(t, "kit")}}}
		r.Kits[0].States = make([]chart.State, len(r.Weeks))
		s := chart.Shortages{Title: r.Title, Items: []chart.Count{{"i" + name.Draw(t, "item"), rapid.IntRange(1, 1e9).Draw(t, "count")}}}
		c := chart.Coverage{Crews: []chart.CrewTopics{{"c" + name.Draw(t, "crew"), 1, 3}}}
		y := chart.Spend{Currency: "EUR", Years: []chart.Year{{Year: "y" + name.Draw(t, "year"), Asked: chart.Known(rapid.Int64Range(0, 1e13).Draw(t, "cents"))}}}
		for _, d := range []drawer{r, s, c, y} {
			picture := draw(t, d, 200)
			words(t, picture.SVG)
			decode(t, picture.PNG)
			if over := chart.Outside(d); over != "" {
				t.Fatal(over)
			}
		}
	})
}

// Neighbouring colours stand 2 to 1 apart and letters 4.5 to 1 from what they are
// on, by the contrast of WCAG 2.2 (definitions of contrast ratio and of relative
// luminance; black on white is 21 to 1 there; 4.5 is success criterion 1.4.3).
func TestContrast(t *testing.T) {
	if got := contrast(color.RGBA{}, color.RGBA{255, 255, 255, 255}); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white is %.3f", got)
	}
	steps, letters := chart.Steps()
	for i, c := range steps {
		if got := contrast(c, letters[i]); got < 4.5 {
			t.Errorf("a letter on colour %d has %.2f", i, got)
		}
		if i > 0 && (contrast(steps[i-1], c) < 2 || luminance(steps[i-1]) < luminance(c)) {
			t.Errorf("colours %d and %d are %.2f apart", i-1, i, contrast(steps[i-1], c))
		}
	}
	for i, a := range chart.Fills() {
		for _, b := range chart.Fills()[:i] {
			if got := contrast(a, b); got < 2 {
				t.Errorf("two states are %.2f apart", got)
			}
		}
	}
}

func contrast(a, b color.RGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(c color.RGBA) float64 {
	linear := func(part uint8) float64 {
		v := float64(part) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// On a phone of 400 points no text is smaller than 12.
func TestTextSize(t *testing.T) {
	for name, d := range all() {
		if got := chart.SmallestText(d); got < 12 {
			t.Errorf("%s has text of %v", name, got)
		}
	}
}
