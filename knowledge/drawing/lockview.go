package drawing

// sketchLock shows the face of the door around the latch, from outside: the
// frame at the left of x = 0, the latch at y = 0. What the frame or the door
// hides is dashed.
func sketchLock(k *sketch) {
	const low, high, right = -4.2, 4.2, 4.6
	gap := k.scene.Gap.width()
	if k.scene.Push == SpreadGap {
		gap += 2 * normalGap
	}
	k.box(lookFrame, -faceWidth, low, 0, high)
	k.box(lookDoor, gap, low, right, high)
	k.label(Frame, -1.3, low+0.7)
	k.label(Door, 3.6, low+0.7)
	k.label(GapAt, gap/2, low+0.3)
	k.circle(lookSteel, gap+backset, 0, 0.95)
	k.circle(lookVoid, gap+backset, 0, 0.2)
	lockBehindFace(k, gap)
	for i, tool := range k.scene.Tools {
		lockTool(k, i, gap, tool)
	}
	if k.has(GuardPlate) {
		guardPlate(k, gap)
	}
	if k.scene.Push == SpreadGap {
		k.line(lookMotion, 0, gap+0.5, 0.95, gap+1.7, 0.95)
		k.line(lookMotion, 0, -0.3, 0.95, -1.5, 0.95)
	}
}

// guardPlate covers what is behind it, which is then drawn dashed on top.
func guardPlate(k *sketch, gap float64) {
	const plateHalf = 2.0 // a small plate, a hand tall
	k.box(lookPlate, -0.8, -plateHalf, 1.3, plateHalf)
	for _, y := range []float64{-1.6, 0, 1.6} {
		k.circle(lookSteel, 0.95, y, 0.15)
	}
	k.label(GuardPlate, 0.3, -1.5)
	k.box(lookGhost, gap-latchThrow, -edgeBore/2, gap+0.6, edgeBore/2)
	for _, tool := range k.scene.Tools {
		behind := plateTool(tool, gap)
		for i := 1; i < len(behind); i += 2 {
			behind[i] = min(behind[i], plateHalf)
		}
		k.polygon(lookGhost, behind...)
	}
}

// plateTool is the outline of a tool that goes behind a guard plate, its spine
// or flat side on the frame; nil for other tools.
func plateTool(tool Tool, gap float64) []float64 {
	const top, tip = 5.2, 0.5
	switch tool {
	case NarrowBar:
		return []float64{-0.05, top, -0.05, tip, gap, tip, gap + 0.35, 1.4, gap + 0.35, top}
	case WideBar:
		return []float64{-0.05, top, -0.05, tip - 0.9, 0.1, tip - 0.9, 0.1, tip, gap + 0.2, tip, gap + 0.6, 1.9, gap + 0.6, top}
	case ThickShim:
		return []float64{-0.05, top, -0.05, tip + 0.4, gap + 0.1, tip, gap + 0.5, top}
	case ThinShim:
		return []float64{-0.05, top, -0.05, tip + 0.4, gap, tip, gap + 0.2, top}
	}
	return nil
}

// lockBehindFace draws the latch or bolt: solid in the gap, dashed elsewhere.
func lockBehindFace(k *sketch, gap float64) {
	part, throw := Latch, latchThrow
	switch {
	case k.has(Bolt):
		part, throw = Bolt, boltThrow
	case k.has(HookBolt):
		part, throw = HookBolt, swingThrow
	case !k.has(Latch):
		return
	}
	k.box(lookGhost, gap-throw, -edgeBore/2, gap+1, edgeBore/2)
	k.box(lookSteel, 0, -edgeBore/2, gap, edgeBore/2)
	k.label(part, gap-throw/2, -edgeBore/2+0.1)
}

// spreaderHeight is where a spreader stands in the gap: one alone just above
// the latch, several from top to bottom in the order that they are used.
func spreaderHeight(i, count int) float64 {
	if count == 1 {
		return 1.9
	}
	return []float64{3.3, 1.9, -1.3, -2.3, -3.3}[i%5]
}

func lockTool(k *sketch, i int, gap float64, tool Tool) {
	y := spreaderHeight(i, len(k.scene.Tools))
	switch tool {
	case AirWedge:
		k.box(lookGhost, -0.5, y-0.55, gap+0.9, y+0.55)
		k.oval(lookTool, gap/2, y, gap/2+0.13, 0.55)
		k.line(lookRod, 3, gap/2, y, 1.4, y-0.3, 2.6, y+0.1)
		k.oval(lookTool, 2.9, y+0.15, 0.45, 0.3)
		k.labelTool(tool, 2.9, y+0.15)
	case ShortBar, Irons:
		k.line(lookRod, 6, gap/2, y, 2.7, y+0.25)
		k.box(lookTool, -0.02, y-0.16, gap+0.04, y+0.16)
		k.labelTool(tool, 2.2, y+0.2)
	case WoodWedge, SteelWedge:
		k.polygon(lookTool, gap/2-0.05, y, gap+1.5, y-0.28, gap+1.5, y+0.28)
		k.labelTool(tool, gap+1, y)
	case NarrowBar, WideBar, ThickShim, ThinShim:
		behindPlate(k, gap, tool)
	default:
		slipTool(k, gap, tool)
	}
}

func behindPlate(k *sketch, gap float64, tool Tool) {
	k.polygon(lookTool, plateTool(tool, gap)...)
	k.box(lookTool, -0.35, 5, gap+0.8, 5.5)
	k.labelTool(tool, gap/2, 3.3)
	k.line(lookPath, 4, gap+1.2, 4.1, gap+1.2, 2.3)
}

// slipTool goes into the gap above the latch and is brought down onto it.
func slipTool(k *sketch, gap float64, tool Tool) {
	k.box(lookTool, gap/2-0.06, 0.35, gap/2+0.06, 2.8)
	k.polygon(lookTool, -0.25, 2.7, gap+0.25, 2.7, gap+0.5, 5, -0.05, 5)
	k.labelTool(tool, 0.2, 4.3)
	k.line(lookPath, 4, gap+0.6, 3.4, gap+0.6, 0.8)
	k.write("down", "down to the latch", gap+0.6, 2)
}
