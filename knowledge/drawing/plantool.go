package drawing

import "math"

// tools draws each tool of a plan and the way it moves.
func (p plan) tools() {
	for _, tool := range p.scene.Tools {
		switch tool {
		case ShoveKnife, StileStrip:
			p.blade(tool, 0.16)
		case SmallHook, LargeHook:
			p.hook(tool)
		case LatchFilm:
			p.film()
		case PairDoorHook:
			p.pairHook()
		case ThumbturnFork:
			p.fork()
		case DoorStrap:
			p.strap()
		case ReachStrip, NotchedCard, PrivacyLatchHook:
			p.throughCrack(tool)
		case Irons:
			p.irons()
		case CylinderPullerSet:
			p.puller()
		}
	}
}

// blade lies in the gap, over the latch, its notch behind the slope.
func (p plan) blade(tool Tool, notch float64) {
	x := p.gap / 2
	p.line(lookRod, 3.5, x, -1.1, x, 1.5, x+notch, 1.32)
	p.box(lookTool, x-0.24, -2.3, x+0.24, -1.05)
	p.labelTool(tool, x, -1.7)
	p.pullBack(x)
}

// pullBack shows the tool coming toward the crew and the latch going back.
func (p plan) pullBack(x float64) {
	p.line(lookPath, 4, x-0.5, -0.9, x-0.5, -2.2)
	p.write("pull", "pull", x-0.5, -1.4)
	p.latchMoves()
}

// latchMoves shows the latch going back, unless the pin keeps it from that.
func (p plan) latchMoves() {
	if p.has(Latch) && !p.has(PlungerIn) {
		p.line(lookMotion, 0, p.gap+0.3, p.latch, p.gap+1.25, p.latch)
	}
}

func (p plan) hook(tool Tool) {
	x := p.gap / 2
	p.line(lookRod, 3.5, x, -1.1, x, 1.35, x+0.06, 1.5, x+0.2, 1.42, x+0.18, 1.28)
	p.line(lookRod, 6, x, -2.2, x, -1.1)
	p.circle(lookTool, x, -2.2, 0.28)
	p.labelTool(tool, x, -1.7)
	p.pullBack(x)
}

// film goes around the stop, so it shows only on an inward door.
func (p plan) film() {
	x := p.gap / 2
	between := (doorThickness + rabbetDepth) / 2
	p.line(lookRod, 3.5, 1.7, planDeep+0.5, 1.05, 2.5, 0.8, between, x+0.05, between, x, between-0.1, x, 1.12)
	p.box(lookTool, 1.45, planDeep+0.4, 1.95, planDeep+0.75)
	p.labelTool(LatchFilm, 1.1, 2.55)
	p.latchMoves()
	p.into(2.6, planDeep-0.2)
	p.write("down", "draw it down, slowly", 2.6, planDeep-0.2)
}

// into is the sign for a movement away from the eye: the tail of an arrow.
func (p plan) into(x, y float64) {
	const r = 0.26
	d := r * math.Sqrt2 / 2
	p.circle(lookTool, x, y, r)
	p.line(lookLine, 2, x-d, y-d, x+d, y+d)
	p.line(lookLine, 2, x-d, y+d, x+d, y-d)
}

func (p plan) pairHook() {
	x := p.gap / 2
	far := doorThickness + 1.15
	p.line(lookRod, 5, x, -2.2, x, far, 1.7, far, 1.7, far-0.25)
	p.circle(lookTool, x, -2.2, 0.3)
	p.labelTool(PairDoorHook, x, -1.5)
	p.line(lookPath, 4, x-0.55, -0.5, x-0.55, -2)
	p.write("pull", "pull", x-0.55, -1.2)
	p.line(lookMotion, 0, 2.5, doorThickness+0.75, 2.5, doorThickness+0.1)
}

func (p plan) fork() {
	x := p.gap / 2
	y, out := p.farFace()
	between := y + out*0.1
	if p.has(SecondLeaf) {
		between = y + out*0.45
	}
	p.line(lookRod, 4, x, -2.2, x, between, 0.9, between, 1.25, y+out*0.45)
	p.line(lookRod, 4, 1.3, y+out*0.25, 1.25, y+out*0.45, 1.3, y+out*0.7)
	p.circle(lookTool, x, -2.2, 0.3)
	p.labelTool(ThumbturnFork, x, -1.5)
	p.arc(lookPath, 1.8, y+out*0.45, 0.75, out*0.25, out*math.Pi*0.85)
	p.write("turn", "turn it", 2.3, y+out*1.05)
}

func (p plan) strap() {
	y := -p.ajar
	for _, face := range []struct{ y, out float64 }{{y, -1}, {y + doorThickness, 1}} {
		p.box(lookSteel, 2.5, face.y, 2.75, face.y+face.out*0.5)
		p.box(lookSteel, 2.2, face.y+face.out*0.5, 3.05, face.y+face.out*0.7)
	}
	p.line(lookRod, 5, 2.6, y-0.35, 0.5, y-0.12, p.gap-0.06, y+0.2, p.gap-0.02, y+1.6,
		0.5, y+doorThickness+0.12, 2.6, y+doorThickness+0.35)
	p.labelTool(DoorStrap, 1.4, y-0.22)
	p.line(lookMotion, 0, 3.7, y-0.2, 3.7, y-0.9)
}

// throughCrack is a tool that reaches a room's second lock from outside.
func (p plan) throughCrack(tool Tool) {
	crack := point{0.12, (doorThickness - p.ajar) / 2}
	var end []float64
	switch tool {
	case NotchedCard:
		end = []float64{-0.25, crack.y - 0.55, 0.0, crack.y - 0.85}
	case PrivacyLatchHook:
		end = []float64{-0.1, -1.9, 0.75, -p.ajar - 0.45, 1.0, -p.ajar - 0.3}
	case ReachStrip:
		end = []float64{0.0, -2.2, 1.25, -p.ajar - 0.55}
	}
	path := append([]float64{1.5, planDeep + 0.2, 0.85, rabbetDepth - 0.4, crack.x, crack.y}, end...)
	p.line(lookRod, 5, path...)
	p.circle(lookTool, 1.55, planDeep+0.3, 0.3)
	p.labelTool(tool, 1.05, 2.2)
	p.guardMotion()
}

// guardMotion shows where the guard goes once it is pushed.
func (p plan) guardMotion() {
	switch {
	case p.has(SwingBar):
		p.arc(lookMotion, -0.9, -0.2, 3.1, -math.Pi*0.33, -math.Pi*0.62)
	case p.has(RoomLatch):
		p.arc(lookMotion, -0.4, -0.15, 2.4, -math.Pi*0.42, -math.Pi*0.75)
	case p.has(Chain):
		p.line(lookMotion, 0, 1.75, -p.ajar-0.55, 3.2, -p.ajar-0.55)
	}
}

func (p plan) irons() {
	x := p.gap / 2
	if p.scene.Swing == In {
		p.polygon(lookTool, x-0.02, 0.9, x+0.1, 0.9, 0.85, rabbetDepth-0.1, 2.2, planDeep+0.4, 1.9, planDeep+0.6, 0.7, rabbetDepth, x-0.02, rabbetDepth-0.1)
		p.line(lookPath, 4, 2.4, planDeep+0.3, 3.1, planDeep-0.7)
		p.labelTool(Irons, 1.6, 2.8)
		return
	}
	p.polygon(lookTool, x-0.05, 1.7, x+0.05, 1.7, x+0.12, -0.3, 3.3, -0.75, 3.3, -1.05, x-0.2, -0.7, x-0.12, -0.1)
	p.labelTool(Irons, 1.6, -0.75)
	p.line(lookPath, 4, 2.9, -1.2, 2.6, -2.2)
	p.write("pry", "pry outward", 2.75, -1.7)
}

func (p plan) puller() {
	y, out := p.crewFace()
	p.polygon(lookTool, 0.95, y+out*0.02, 1.3, y+out*0.02, 1.3, y+out*0.2, 1.15, y+out*0.4, 1.15, y+out*0.6,
		1.65, y+out*0.6, 1.95, y+out*2.1, 1.6, y+out*2.1, 1.3, y+out*0.75, 0.95, y+out*0.75)
	p.labelTool(CylinderPullerSet, 1.75, y+out*1.5)
	p.line(lookPath, 4, 2.5, y+out*0.6, 2.5, y+out*1.8)
}
