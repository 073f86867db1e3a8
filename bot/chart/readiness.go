package chart

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"time"
)

// State is how a kit stood at the end of a week.
type State int

// The states of a kit. The zero value is one: nobody checked.
const (
	NotChecked State = iota
	Complete
	Short
	OutOfService
)

// states are how each is shown and called.
var states = []struct {
	words, letter string
	fill          color.RGBA
}{
	NotChecked:   {"not checked", "N", ground},
	Complete:     {"complete", "C", light},
	Short:        {"short", "S", middle},
	OutOfService: {"out of service", "X", dark},
}

// Readiness is kits by weeks.
type Readiness struct {
	Title string
	Weeks []time.Time // the first day of each, ascending; 13 at most, a quarter
	Kits  []KitWeeks  // 60 at most
}

// KitWeeks is a kit with its state in each of the weeks.
type KitWeeks struct {
	Kit    string
	States []State
}

// Bounds of a grid that can be read on a phone.
const (
	mostWeeks = 13
	mostKits  = 60
)

func (r Readiness) check() error {
	if len(r.Weeks) > mostWeeks || len(r.Kits) > mostKits {
		return fmt.Errorf("%w: %d kits by %d weeks are more than %d by %d", ErrData, len(r.Kits), len(r.Weeks), mostKits, mostWeeks)
	}
	for i := 1; i < len(r.Weeks); i++ {
		if !r.Weeks[i-1].Before(r.Weeks[i]) {
			return fmt.Errorf("%w: the week of %s does not come after the one before it", ErrData, r.Weeks[i].Format(time.DateOnly))
		}
	}
	for _, k := range r.Kits {
		if clean(k.Kit) == "" || len(k.States) != len(r.Weeks) {
			return fmt.Errorf("%w: kit %q has %d states in %d weeks", ErrData, k.Kit, len(k.States), len(r.Weeks))
		}
		for _, s := range k.States {
			if s < 0 || int(s) >= len(states) {
				return fmt.Errorf("%w: kit %q has the state %d", ErrData, k.Kit, s)
			}
		}
	}
	return nil
}

// Draw gives the grid, a mark of its own shape, letter and colour for each state.
// ErrData refuses weeks that do not ascend, and kits without a name or with a
// state too many or too few.
func (r Readiness) Draw(o Options) (Picture, error) {
	picture, err := o.draw(r)
	if err != nil {
		return Picture{}, fmt.Errorf("draw readiness: %w", err)
	}
	return picture, nil
}

func (r Readiness) layOut() (*sketch, string, error) {
	if err := r.check(); err != nil {
		return nil, "", err
	}
	s := newSketch(r.Title)
	if r.empty() {
		s.say(noReadiness)
	} else {
		g := r.grid()
		g.heads(s, r.Weeks)
		for _, k := range r.Kits {
			g.row(s, k)
		}
		legend(s)
	}
	s.end()
	return s, r.alt(), nil
}

const noReadiness = "There is no kit or no week to show."

func (r Readiness) empty() bool { return len(r.Kits) == 0 || len(r.Weeks) == 0 }

// grid is where the cells stand.
type grid struct{ name, left, cell float64 }

// row heights and marks of the grid.
const (
	rowStep    = 25.0
	markSize   = 9.5
	letterSize = 13.0
	widestCell = 34.0
	leastCell  = 21.0 // so that marks stand apart
	widestName = 120.0
	afterName  = 8.0
)

// grid gives the names what they need, and the weeks the rest.
func (r Readiness) grid() grid {
	name := 0.0
	for _, k := range r.Kits {
		name = max(name, text{words: clean(k.Kit), size: textSize}.width())
	}
	name = min(name, widestName, inside-afterName-leastCell*float64(len(r.Weeks)))
	left := margin + name + afterName
	return grid{name: name, left: left, cell: min(widestCell, (canvasWidth-margin-left)/float64(len(r.Weeks)))}
}

func (g grid) middle(week int) float64 { return g.left + g.cell*(float64(week)+0.5) }

// heads are the months, where they change, over the days.
func (g grid) heads(s *sketch, weeks []time.Time) {
	s.height += 2 * lineStep
	free := 0.0
	for i, week := range weeks {
		day := text{at: point{g.middle(i), s.height - 5}, words: fmt.Sprint(week.Day()), size: textSize, align: 0.5}
		s.write(day)
		if i == 0 || week.Month() != weeks[i-1].Month() {
			month := text{at: point{g.middle(i) - day.width()/2, s.height - 5 - lineStep}, words: week.Format("Jan"), size: textSize, bold: true}
			if month.at.x >= free {
				s.write(month)
				free = month.at.x + month.width() + 4
			}
		}
	}
}

func (g grid) row(s *sketch, k KitWeeks) {
	s.add(shape{outline: []point{{margin, s.height}, {canvasWidth - margin, s.height}}, width: 0.3})
	s.height += rowStep
	middle := s.height - rowStep/2
	s.write(text{at: point{margin, middle + 4.5}, words: fit(clean(k.Kit), textSize, false, g.name), size: textSize})
	for i, state := range k.States {
		state.mark(s, point{g.middle(i), middle})
	}
}

// mark draws a state: an open square, a disc, a triangle or a dark octagon, with
// its letter.
func (state State) mark(s *sketch, at point) {
	look := states[state]
	m := shape{fill: look.fill, width: 1.2}
	letter := text{at: point{at.x, at.y + 4.6}, words: look.letter, size: letterSize, bold: true, align: 0.5, colour: letterOn(look.fill)}
	switch state {
	case NotChecked:
		m.outline, m.dash = box(at.x-markSize+1, at.y-markSize+1, at.x+markSize-1, at.y+markSize-1), []float64{2, 2}
	case Complete:
		m.outline = round(at, markSize, 40, 0)
	case Short:
		m.outline = []point{{at.x, at.y - 11}, {at.x + 10, at.y + 9}, {at.x - 10, at.y + 9}, {at.x, at.y - 11}}
		letter.at.y, letter.size = at.y+7.4, 12
	case OutOfService:
		m.outline = round(at, markSize+1, 8, math.Pi/8)
	}
	s.add(m)
	s.write(letter)
}

// legend says what the marks mean, two a line.
func legend(s *sketch) {
	s.height += 6
	for i, state := range []State{Complete, Short, NotChecked, OutOfService} {
		if i%2 == 0 {
			s.height += rowStep
		}
		at := point{margin + 12 + float64(i%2)*inside/2, s.height - rowStep/2}
		state.mark(s, at)
		s.write(text{at: point{at.x + 18, at.y + 4.5}, words: states[state].words, size: textSize})
	}
}

// alt begins with the last week; then each kit has its weeks, alike ones together.
func (r Readiness) alt() string {
	if r.empty() {
		return r.Title + ". " + noReadiness
	}
	last := len(r.Weeks) - 1
	var out strings.Builder
	fmt.Fprintf(&out, "%s. %s by %s", r.Title, plural(len(r.Kits), "kit"), plural(len(r.Weeks), "week"))
	fmt.Fprintf(&out, ", from %s to %s. In the last week: %s.", r.Weeks[0].Format("2 January 2006"), r.Weeks[last].Format("2 January 2006"), r.counts(last))
	for _, k := range r.Kits {
		out.WriteString(" " + k.Kit + ": " + runs(k.States) + ".")
	}
	return out.String()
}

// counts are how many kits were in each state in a week.
func (r Readiness) counts(week int) string {
	count := make([]int, len(states))
	for _, k := range r.Kits {
		count[k.States[week]]++
	}
	var parts []string
	for _, state := range []State{Complete, Short, NotChecked, OutOfService} {
		if count[state] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[state], states[state].words))
		}
	}
	return strings.Join(parts, ", ")
}

func runs(all []State) string {
	var parts []string
	for from := 0; from < len(all); {
		to := from
		for to < len(all) && all[to] == all[from] {
			to++
		}
		parts = append(parts, states[all[from]].words+" "+plural(to-from, "week"))
		from = to
	}
	return strings.Join(parts, ", then ")
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
