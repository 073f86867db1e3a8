package chart

import (
	"fmt"
	"image/color"
	"regexp"
	"strconv"
	"strings"
)

// Spend is what was asked for, granted and bought, year by year.
type Spend struct {
	Title    string
	Currency string // its code of three capitals
	Years    []Year // in their order; 12 at most
}

// Year is one year's amounts in hundredths of the currency.
type Year struct {
	Year                   string // as it is called: FY 2027
	Asked, Granted, Bought Amount
}

// Amount is money, or that it is not known yet. The zero Amount is not known.
type Amount struct {
	Cents int64
	Known bool
}

// Known is an amount that is known, zero too.
func Known(cents int64) Amount { return Amount{Cents: cents, Known: true} }

const (
	mostYears = 12
	noSpend   = "There is no year to show."
	wordsWide = 62.0 // what the words before the bars take
)

var code = regexp.MustCompile(`^[A-Z]{3}$`)

// parts of a year, in the order of the drawing.
func (y Year) parts() []spent {
	return []spent{{"asked", y.Asked, ground}, {"granted", y.Granted, light}, {"bought", y.Bought, middle}}
}

type spent struct {
	words  string
	amount Amount
	fill   color.RGBA
}

func (c Spend) check() error {
	if !code.MatchString(c.Currency) || len(c.Years) > mostYears {
		return fmt.Errorf("%w: %d years in the currency %q", ErrData, len(c.Years), c.Currency)
	}
	for _, y := range c.Years {
		for _, p := range y.parts() {
			if clean(y.Year) == "" || p.amount.Cents < 0 || p.amount.Cents != 0 && !p.amount.Known {
				return fmt.Errorf("%w: year %q has %s %d cents", ErrData, y.Year, p.words, p.amount.Cents)
			}
		}
	}
	return nil
}

// Draw gives three bars a year, each with its word before it and its amount behind
// it. ErrData refuses an amount below zero, a year without a name and a currency
// that is not a code.
func (c Spend) Draw(o Options) (Picture, error) {
	picture, err := o.draw(c)
	if err != nil {
		return Picture{}, fmt.Errorf("draw spend: %w", err)
	}
	return picture, nil
}

func (c Spend) layOut() (*sketch, string, error) {
	if err := c.check(); err != nil {
		return nil, "", err
	}
	s := newSketch(c.Title)
	if len(c.Years) == 0 {
		s.say(noSpend)
	}
	greatest, wide := c.bounds()
	for _, y := range c.Years {
		s.height += lineStep
		s.write(text{at: point{margin, s.height - 5}, words: fit(clean(y.Year), textSize, true, inside), size: textSize, bold: true})
		for _, p := range y.parts() {
			c.part(s, p, greatest, wide)
		}
		s.height += barGap
	}
	s.end()
	return s, c.alt(), nil
}

// bounds are the greatest amount and how wide the widest is when written.
func (c Spend) bounds() (greatest int64, wide float64) {
	greatest = 1
	for _, y := range c.Years {
		for _, p := range y.parts() {
			greatest = max(greatest, p.amount.Cents)
			wide = max(wide, room([]bar{{value: c.written(p.amount)}}))
		}
	}
	return greatest, wide
}

func (c Spend) part(s *sketch, p spent, greatest int64, wide float64) {
	s.height += barHeight + 3
	s.write(text{at: point{margin, s.height - 2.5}, words: p.words, size: textSize})
	from, to := margin+wordsWide, canvasWidth-margin-wide-beside
	end := from
	if p.amount.Known {
		end = bar{share: float64(p.amount.Cents) / float64(greatest), fill: p.fill}.rect(s, from, to)
	}
	s.write(text{at: point{end + beside, s.height - 2.5}, words: c.written(p.amount), size: textSize, bold: p.amount.Known})
}

// written is an amount in words, with cents where there are any.
func (c Spend) written(a Amount) string {
	if !a.Known {
		return "not known yet"
	}
	mark := c.Currency + " "
	if c.Currency == "USD" {
		mark = "$"
	}
	whole := thousands(strconv.FormatInt(a.Cents/100, 10))
	if a.Cents%100 == 0 {
		return mark + whole
	}
	return fmt.Sprintf("%s%s.%02d", mark, whole, a.Cents%100)
}

func thousands(digits string) string {
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits
}

func (c Spend) alt() string {
	if len(c.Years) == 0 {
		return c.Title + ". " + noSpend
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%s. %s.", c.Title, plural(len(c.Years), "year"))
	for _, y := range c.Years {
		var words []string
		for _, p := range y.parts() {
			words = append(words, p.words+" "+c.written(p.amount))
		}
		fmt.Fprintf(&out, " %s: %s.", y.Year, strings.Join(words, ", "))
	}
	return out.String()
}
