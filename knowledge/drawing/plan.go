package drawing

import "math"

// A plan is sketched with x across the opening and y through the wall. The
// frame's edge is at x = 0 and the door to its right; y = 0 is the pull face,
// where door and frame are flush, and the stop is toward positive y. For an
// inward door the crew is on the side of the stop, so y is turned over.

const (
	planLeft  = -faceWidth
	planRight = 4.3
	planDeep  = 3.3 // the frame is cut off here
)

// plan holds the measures that parts of a plan share.
type plan struct {
	*sketch
	gap   float64
	ajar  float64 // how far the door stands open, toward the pull side
	latch float64 // y of the middle of the lock
}

func sketchPlan(k *sketch) {
	s := k.scene
	k.flip = s.Swing == In
	p := plan{sketch: k, gap: s.Gap.width(), latch: doorThickness / 2}
	if s.Push == SpreadGap {
		p.gap += normalGap
	}
	switch {
	case s.Has(SwingBar), s.Has(Chain), s.Has(RoomLatch):
		p.ajar = crackOpening
	case s.HasTool(DoorStrap):
		p.ajar = rabbetDepth + 0.8
	}
	if s.Has(SecondLeaf) {
		p.otherLeaf()
	} else {
		p.frame()
	}
	p.leaf()
	p.lock()
	p.fittings()
	p.roomGuards()
	p.tools()
	p.motions()
}

func (p plan) frame() {
	p.polygon(lookFrame, planLeft, 0, 0, 0, 0, rabbetDepth, stopHeight, rabbetDepth,
		stopHeight, planDeep, planLeft, planDeep)
	p.label(Frame, -1.3, 2.6)
	p.label(Stop, stopHeight-0.2, rabbetDepth+0.5)
	p.labelIfNamed(GapAt, p.gap/2, 0.1)
	p.strike()
}

// strike draws the plate on the frame and the pocket behind its hole.
func (p plan) strike() {
	near, far, deep := p.hole()
	if deep > 0 {
		p.box(lookVoid, -deep, near, 0, far)
	}
	p.line(lookLine, 4, 0.12, -0.16, 0, -0.03, -strikeThickness/2, near)
	p.line(lookLine, 4, -strikeThickness/2, far, -strikeThickness/2, rabbetDepth-0.15)
	if p.has(ElectricStrike) {
		p.box(lookPlate, -1.5, near-0.45, -deep, far+0.3)
		p.polygon(lookPin, -deep, near-0.05, 0, near-0.05, 0, near-0.4, -deep, near-0.4)
		p.line(lookMotion, 0, -0.35, near-0.3, -0.6, near-0.75, -0.55, near-1.3)
		p.label(ElectricStrike, -1.2, near+0.3)
	}
	p.labelIfNamed(Strike, -0.03, rabbetDepth-0.35)
}

// hole tells where the strike is open: from y to y, and how deep.
func (p plan) hole() (near, far, deep float64) {
	near, far = p.latch-latchThickness/2-0.06, p.latch+latchThickness/2+0.1
	switch {
	case p.has(Bolt):
		return near - 0.1, far, boltThrow
	case p.has(HookBolt):
		return near - 0.06, far + 0.05, swingThrow
	case p.has(RimLatch), p.has(DropBar) && !p.has(Latch):
		return p.latch, p.latch, 0
	case p.has(PlungerOut), p.has(PlungerPartly):
		near -= plungerWidth + 0.12
	}
	return near, far, latchThrow + 0.2
}

func (p plan) leaf() {
	back := p.gap + bevelSlope*doorThickness
	y := -p.ajar
	if p.has(NarrowStile) {
		p.polygon(lookDoor, p.gap, y, p.gap+stileFace, y, p.gap+stileFace, y+doorThickness, back, y+doorThickness)
		p.box(lookGlass, p.gap+stileFace, y+0.7, planRight, y+1.05)
		p.label(NarrowStile, p.gap+stileFace*0.8, y+1.3)
	} else {
		p.polygon(lookDoor, p.gap, y, planRight, y, planRight+0.12, y+0.6, planRight-0.12, y+1.1, planRight, y+doorThickness, back, y+doorThickness)
		p.label(Door, 2.6, y+doorThickness/2)
	}
	p.labelIfNamed(Bevel, p.edge(1.5), y+1.5)
}

// otherLeaf draws the leaf that a pair has in place of the frame.
func (p plan) otherLeaf() {
	back := -bevelSlope * doorThickness
	p.polygon(lookDoor, 0, 0, -planRight+1, 0, -planRight+0.9, 0.6, -planRight+1.1, 1.1, -planRight+1, doorThickness, back, doorThickness)
	p.label(SecondLeaf, -1.9, doorThickness/2)
	p.labelIfNamed(GapAt, p.gap/2, 0.1)
}

// edge returns the x of the door's edge at height y of the closed door.
func (p plan) edge(y float64) float64 { return p.gap + bevelSlope*y }

func (p plan) lock() {
	y0, y1 := p.latch-latchThickness/2-p.ajar, p.latch+latchThickness/2-p.ajar
	root := p.edge(p.latch)
	switch {
	case p.has(Latch):
		tip := root - latchThrow
		p.polygon(lookSteel, root+1, y0, tip, y0, tip, y0+0.07, root, y1, root+1, y1)
		p.label(Latch, root+0.8, y1-0.06) // clear of the slope
	case p.has(LatchHeld):
		p.box(lookSteel, root, y0, root+1, y1)
		p.label(LatchHeld, root+0.5, p.latch-p.ajar)
	case p.has(Bolt):
		p.box(lookSteel, root-boltThrow, y0-0.06, root+1.2, y1+0.06)
		p.label(Bolt, root-0.6, p.latch)
	case p.has(HookBolt):
		p.box(lookSteel, root-swingThrow, p.latch-swingBolt/2, root+1.4, p.latch+swingBolt/2)
		p.label(HookBolt, root-0.9, p.latch)
	}
	p.plunger(y0)
}

func (p plan) plunger(flat float64) {
	root := p.edge(flat)
	y0, y1 := flat-0.04-plungerWidth, flat-0.04
	switch {
	case p.has(PlungerIn):
		p.box(lookPin, 0.01, y0, root+0.45, y1)
		p.label(PlungerIn, root+0.2, (y0+y1)/2)
	case p.has(PlungerPartly):
		p.box(lookPin, root-0.22, y0, root+0.35, y1)
		p.label(PlungerPartly, root, (y0+y1)/2)
	case p.has(PlungerOut):
		p.box(lookPin, root-0.4, y0, root+0.25, y1)
		p.label(PlungerOut, root-0.2, (y0+y1)/2)
	}
}

// crewFace and farFace give a face of the door and the direction out of it.
func (p plan) crewFace() (y, out float64) {
	if p.scene.Swing == In {
		return doorThickness - p.ajar, 1
	}
	return -p.ajar, -1
}

func (p plan) farFace() (y, out float64) {
	if p.scene.Swing == In {
		return -p.ajar, -1
	}
	return doorThickness - p.ajar, 1
}

func (p plan) fittings() {
	if p.has(GuardPlate) {
		p.box(lookPlate, -0.9, -plateThickness, 2.6, 0)
		for _, x := range []float64{1.7, 2.3} {
			p.box(lookSteel, x-0.06, -plateThickness, x+0.06, doorThickness)
			p.oval(lookSteel, x, -plateThickness, 0.17, 0.1)
		}
		p.label(GuardPlate, -0.5, -plateThickness/2)
	}
	if p.has(Cylinder) {
		y, out := p.crewFace()
		p.box(lookSteel, 1.5, y-out*1.2, 2.1, y)
		p.box(lookPlate, 1.2, y, 2.4, y+out*0.22)
		p.box(lookSteel, 1.45, y+out*0.22, 2.15, y+out*0.36)
		p.label(Cylinder, 2.2, y+out*0.1)
	}
	if p.has(Thumbturn) {
		y, out := p.farFace()
		p.box(lookSteel, 1.7, y, 1.9, y+out*0.35)
		p.box(lookSteel, 1.4, y+out*0.35, 2.2, y+out*0.55)
		p.label(Thumbturn, 2.1, y+out*0.45)
	}
	p.bars()
}

func (p plan) bars() {
	y, out := p.farFace()
	if p.has(RimLatch) {
		p.box(lookVoid, 0.3, y+out*0.45, stopHeight, y+out*1.1)
		p.polygon(lookSteel, 1.3, y+out*0.5, 0.4, y+out*0.5, 0.4, y+out*0.58, 0.75, y+out*1, 1.3, y+out*1)
		p.box(lookPlate, 0.85, y, 1.9, y+out*1.15)
		p.label(RimLatch, 1.4, y+out*0.9)
	}
	if p.has(ExitBar) {
		p.box(lookSteel, 1.6, y, 1.85, y+out*0.5)
		p.box(lookPlate, 1.2, y+out*0.4, planRight, y+out*0.8)
		p.label(ExitBar, 3.4, y+out*0.6)
		if p.has(SecondLeaf) {
			p.box(lookSteel, -1.6, y, -1.4, y+out*0.5)
			p.box(lookPlate, -planRight+1, y+out*0.4, -1, y+out*0.8)
		}
	}
	if p.has(DropBar) {
		p.box(lookSteel, 2.4, y, 2.7, y+out*2.3)
		p.polygon(lookPlate, planLeft, y+out*1.6, planRight, y+out*1.6, planRight, y+out*2.1, planLeft, y+out*2.1)
		p.line(lookLine, 4, -1.2, y+out*1.5, -1.2, y+out*2.3, -0.8, y+out*2.3)
		p.oval(lookSteel, 2.55, 0, 0.22, 0.12)
		p.label(DropBar, 1.2, y+out*1.85)
	}
}

// roomGuards draws the second locks of a room, on a door that stands open a crack.
func (p plan) roomGuards() {
	y := -p.ajar
	if p.ajar == crackOpening && len(p.scene.Tools) == 0 {
		p.write("crack", "it stops at this crack", 0.5, (doorThickness-p.ajar)/2)
	}
	switch {
	case p.has(SwingBar):
		p.circle(lookSteel, -0.9, -0.2, 0.2)
		p.line(lookRod, 0, 1.2, y-0.45, 1.2, y)
		p.polygon(lookPlate, -1.02, -0.3, -0.75, -0.35, 1.4, y-0.4, 1.25, y-0.65)
		p.circle(lookSteel, 1.2, y-0.5, 0.22)
		p.label(SwingBar, 0, y/2-0.3)
	case p.has(RoomLatch):
		p.circle(lookSteel, -0.4, -0.15, 0.16)
		p.polygon(lookPlate, -0.5, -0.1, -0.3, -0.25, 0.95, y-0.05, 0.8, y-0.2)
		p.label(RoomLatch, 0.1, y/2-0.2)
	case p.has(Chain):
		p.box(lookPlate, 1, y-0.22, 3.6, y)
		p.circle(lookSteel, -0.85, -0.1, 0.2)
		p.chain(point{-0.8, -0.1}, point{1.4, y - 0.3})
		p.circle(lookSteel, 1.4, y-0.3, 0.16)
		p.oval(lookVoid, 3.2, y-0.12, 0.22, 0.09)
		p.label(Chain, 0.1, y/2-0.4)
	}
}

func (p plan) chain(from, to point) {
	const links = 8
	for i := range links {
		a, b := float64(i)/links, float64(i+1)/links
		sag := func(t float64) float64 { return -0.35 * math.Sin(math.Pi*t) }
		x, y := from.x+(to.x-from.x)*(a+b)/2, from.y+(to.y-from.y)*(a+b)/2+sag((a+b)/2)
		p.oval(lookSteel, x, y, 0.27, 0.17)
	}
}
