package drawing

// Dimensions of doors and locks, in inches. Drawings keep to them wherever a
// phone can show them; a gap seen from far off is drawn wider, and says so.
const (
	doorThickness = 1.75       // commercial doors (trade, secondary text)
	rabbetDepth   = 1 + 15./16 // for a 1-3/4 in door (trade, secondary text)
	stopHeight    = 0.625      // ANSI/SDI A250.8, SDI 111-A (from memory)
	faceWidth     = 2.0        // of the frame, usual (trade, secondary text)
	normalGap     = 0.125      // NFPA 80 (2016 and later) 6.3.1.7, hollow metal (secondary text)
	gapTolerance  = 0.0625     // the same clause, plus or minus
	bevelSlope    = 0.125 / 2  // 1/8 in in 2 in, 3.6 degrees (hardware fundamentals booklet, secondary text)
	latchThrow    = 0.5        // bored lock's spring latch, BHMA A156.2 (secondary text, from memory)
	boltThrow     = 1.0        // common deadbolt (trade summaries, secondary text)
	swingThrow    = 1.375      // pivoting bolt of a narrow stile (locksmith trade press, 2014, secondary text)
	swingBolt     = 0.625      // its thickness (the same)
	stileFace     = 2.0        // narrow stile, approximate (locksmith trade press, secondary text)
	backset       = 2.375      // bored locks (trade guides, secondary text)
	edgeBore      = 1.0        // bored locks (lock spec sheets, secondary text)
	leverHeight   = 40.0       // within 34 to 48 in (2010 ADA 404.2.7, secondary text)
)

// Assumed for the drawing: no published figure was found, and nothing in a
// card rests on them.
const (
	latchThickness  = 0.5
	plungerWidth    = 0.17
	plateThickness  = 0.125
	strikeThickness = 0.07
	doorWidth       = 36.0
	doorHeight      = 80.0
	crackOpening    = 3.0 // how far a bar or chain lets an inward door come
)

// width returns the gap at the pull face in inches.
func (g Gap) width() float64 {
	switch g {
	case Tight:
		return normalGap - gapTolerance
	case Loose:
		return normalGap + gapTolerance
	}
	return normalGap
}
