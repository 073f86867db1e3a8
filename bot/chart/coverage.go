package chart

import (
	"fmt"
	"strings"
)

// Coverage is how much of what they should each crew has drilled.
type Coverage struct {
	Title string
	Crews []CrewTopics // 60 at most
}

// CrewTopics is how many of its topics a crew has drilled.
type CrewTopics struct {
	Crew            string // a rig and its platoon, never a person
	Drilled, Topics int
}

const (
	mostCrews  = 60
	noCoverage = "There is no crew to show."
)

func (c Coverage) check() error {
	if len(c.Crews) > mostCrews {
		return fmt.Errorf("%w: %d crews are more than %d", ErrData, len(c.Crews), mostCrews)
	}
	for _, crew := range c.Crews {
		if clean(crew.Crew) == "" || crew.Drilled < 0 || crew.Drilled > crew.Topics {
			return fmt.Errorf("%w: crew %q has drilled %d of %d topics", ErrData, crew.Crew, crew.Drilled, crew.Topics)
		}
	}
	return nil
}

// Draw gives a bar for each crew, out of a full one, with counts and per cent
// written out. ErrData refuses a crew without a name or with more drilled than
// there is.
func (c Coverage) Draw(o Options) (Picture, error) {
	picture, err := o.draw(c)
	if err != nil {
		return Picture{}, fmt.Errorf("draw coverage: %w", err)
	}
	return picture, nil
}

func (c Coverage) layOut() (*sketch, string, error) {
	if err := c.check(); err != nil {
		return nil, "", err
	}
	s := newSketch(c.Title)
	if len(c.Crews) == 0 {
		s.say(noCoverage)
	}
	var bars []bar
	for _, crew := range c.Crews {
		share := float64(crew.Drilled) / float64(max(1, crew.Topics))
		bars = append(bars, bar{crew.Crew, crew.figures(), share, light})
	}
	drawBars(s, bars, true)
	s.end()
	return s, c.alt(), nil
}

// figures are the counts, and per cent rounded down so that 100 is all.
func (t CrewTopics) figures() string {
	if t.Topics == 0 {
		return "no topics"
	}
	return fmt.Sprintf("%d of %d, %d %%", t.Drilled, t.Topics, t.Drilled*100/t.Topics)
}

func (c Coverage) alt() string {
	if len(c.Crews) == 0 {
		return c.Title + ". " + noCoverage
	}
	drilled, topics := 0, 0
	var parts []string
	for _, crew := range c.Crews {
		drilled, topics = drilled+crew.Drilled, topics+crew.Topics
		parts = append(parts, crew.Crew+" "+crew.figures())
	}
	all := CrewTopics{Drilled: drilled, Topics: topics}
	return fmt.Sprintf("%s. %s, together %s. %s.", c.Title, plural(len(c.Crews), "crew"), all.figures(), strings.Join(parts, "; "))
}
