package chart

import "image/color"

// bar is one bar: its name on a line above it, and behind it what it comes to.
type bar struct {
	name  string
	value string
	share float64 // of the longest that there may be, 0 to 1
	fill  color.RGBA
}

// Measures of bars.
const (
	barHeight = 14.0
	barGap    = 8.0
	beside    = 6.0
	leastBar  = 3.0 // so that little is not taken for nothing, which has no bar
)

// drawBars puts bars below each other. Where there is a whole that each is a part
// of, its outline is drawn too and the values stand behind that.
func drawBars(s *sketch, bars []bar, whole bool) {
	to := canvasWidth - margin - room(bars) - beside
	for _, b := range bars {
		s.height += lineStep
		s.write(text{at: point{margin, s.height - 5}, words: fit(clean(b.name), textSize, false, inside), size: textSize})
		s.height += barHeight
		end := b.rect(s, margin, to)
		if whole {
			s.add(shape{outline: box(margin, s.height-barHeight, to, s.height), width: 0.6})
			end = to
		}
		s.write(text{at: point{end + beside, s.height - 2.5}, words: b.value, size: textSize, bold: true})
		s.height += barGap
	}
}

// rect draws the bar itself above the line that the sketch has come to, and gives
// where it ends.
func (b bar) rect(s *sketch, from, to float64) float64 {
	if b.share == 0 {
		return from
	}
	end := from + max(leastBar, (to-from)*b.share)
	s.add(shape{outline: box(from, s.height-barHeight, end, s.height), fill: b.fill, width: 1})
	return end
}

// room is what the widest value of bars takes.
func room(bars []bar) float64 {
	widest := 0.0
	for _, b := range bars {
		widest = max(widest, text{words: b.value, size: textSize, bold: true}.width())
	}
	return widest
}
