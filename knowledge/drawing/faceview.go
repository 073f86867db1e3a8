package drawing

// sketchFace shows a whole door in its frame, from the side on which the named
// parts are. x = 0 is the lock edge of the leaf, y = 0 the floor.
func sketchFace(k *sketch) {
	switch k.scene.build() {
	case Panels:
		facePanels(k)
	case Slats:
		faceSlats(k)
	case Gate:
		faceGate(k)
	case SlidePanel:
		faceSlider(k)
	default:
		faceLeaves(k)
	}
}

// seenFromInside holds for faces whose parts are on the far side.
func (s Scene) seenFromInside() bool {
	for _, part := range []Part{ExitBar, Rods, TrackStick, SlideHook, Closer} {
		if s.View == Face && s.Has(part) {
			return true
		}
	}
	return false
}

const faceFrame = 3.0 // drawn wider than the 2 in of a real one

func faceLeaves(k *sketch) {
	left := 0.0
	if k.has(SecondLeaf) {
		left = -doorWidth - 1
	}
	k.box(lookFrame, left-faceFrame-1, 0, doorWidth+faceFrame+1, doorHeight+faceFrame+1)
	k.box(lookVoid, left-1, 0, doorWidth+1, doorHeight+1)
	k.box(lookDoor, 0, 0.8, doorWidth, doorHeight)
	if k.has(SecondLeaf) {
		k.box(lookDoor, left, 0.8, -1, doorHeight)
		k.label(SecondLeaf, left+18, 62)
	}
	k.line(lookLine, 3, left-22, 0, doorWidth+22, 0)
	k.labelIfNamed(Door, doorWidth/2, 20)
	k.labelIfNamed(Frame, left-2, 30)
	k.labelIfNamed(GapAt, -0.5, 60)
	faceHardware(k, left)
	faceAround(k, left)
}

func faceHardware(k *sketch, left float64) {
	if !k.has(ExitBar) {
		k.box(lookSteel, 1.8, leverHeight-3, 4, leverHeight+4)
		k.box(lookSteel, 1.8, leverHeight, 8, leverHeight+1.6)
		k.labelIfNamed(Handle, 6, leverHeight+0.8)
	}
	if k.has(Cylinder) {
		k.circle(lookPlate, 2.9, leverHeight+9, 1.7)
		k.label(Cylinder, 2.9, leverHeight+9)
	}
	if k.has(ExitBar) {
		faceBar(k, 0.8, doorWidth-5)
		if k.has(SecondLeaf) {
			faceBar(k, left+5, -2)
		}
		k.label(ExitBar, doorWidth*0.6, leverHeight+1)
	}
	if k.has(Rods) {
		for _, x := range []float64{2.4, left + doorWidth - 2.6} {
			k.box(lookSteel, x-0.6, 1, x+0.6, leverHeight-2)
			k.box(lookSteel, x-0.6, leverHeight+4, x+0.6, doorHeight+1.6)
			k.box(lookPin, x-1.3, doorHeight-2, x+1.3, doorHeight+1.6)
			k.box(lookPin, x-1.3, 0, x+1.3, 2.6)
		}
		k.label(Rods, 2.4, 66)
	}
	faceGlass(k)
}

func faceBar(k *sketch, x0, x1 float64) {
	k.box(lookPlate, x0, leverHeight-1.5, x1, leverHeight+3.5)
	k.box(lookSteel, x0+6, leverHeight-0.5, x1-2, leverHeight+2.5)
}

func faceGlass(k *sketch) {
	if k.has(Pane) {
		k.box(lookGlass, 5, 46, 14, 70)
		k.label(Pane, 10, 60)
		k.box(lookGlass, 22, 46, 31, 70)
	}
	if k.has(Sign) {
		k.box(lookVoid, 10, 48, 26, 56)
		k.line(lookLine, 1.5, 12, 53.5, 24, 53.5)
		k.line(lookLine, 1.5, 12, 50.5, 20, 50.5)
		k.label(Sign, 24, 52)
	}
	if k.has(FireLabel) {
		k.box(lookPin, doorWidth-1.6, 58, doorWidth, 64)
		k.label(FireLabel, doorWidth-0.8, 61)
	}
}

// faceAround draws what is at the frame and beside it.
func faceAround(k *sketch, left float64) {
	if k.has(Hinges) {
		for _, y := range []float64{8, 40, 70} {
			k.box(lookSteel, doorWidth-0.6, y, doorWidth+1.6, y+6)
			k.circle(lookSteel, doorWidth+0.5, y+6.6, 1)
		}
		k.label(Hinges, doorWidth+0.5, 43)
	}
	if k.has(Closer) {
		k.box(lookPlate, 17, doorHeight-5, 29, doorHeight-1.5)
		k.line(lookLine, 3, 19, doorHeight-3, 8, doorHeight-6, 12, doorHeight+2.5)
		k.label(Closer, 26, doorHeight-4)
	}
	if k.has(Magnet) {
		k.box(lookSteel, 2, doorHeight-3.5, 14, doorHeight+1)
		k.label(Magnet, 9, doorHeight-1.5)
	}
	if k.has(KeyBox) {
		k.box(lookPlate, left-14, 50, left-8, 57)
		k.label(KeyBox, left-11, 52)
	}
	if k.has(Reader) {
		k.box(lookPlate, left-12, 40, left-8.5, 46)
		k.label(Reader, left-10, 42)
	}
	if k.has(Window) {
		k.box(lookGlass, doorWidth+10, 30, doorWidth+34, 62)
		k.line(lookLine, 2, doorWidth+10, 46, doorWidth+34, 46)
		k.label(Window, doorWidth+22, 40)
	}
	faceTools(k)
}

func faceTools(k *sketch) {
	if k.scene.HasTool(ScrewdriverSet) {
		k.line(lookRod, 3, doorWidth+2.4, 13.6, doorWidth+8, 8)
		k.box(lookTool, doorWidth+7, 4, doorWidth+9.4, 9)
		k.labelTool(ScrewdriverSet, doorWidth+8.2, 6)
		k.line(lookPath, 4, doorWidth+13, 8, doorWidth+13, 22)
		for i, y := range []float64{17, 49, 79} {
			k.write(Part(rune('1'+i)), string(rune('1'+i)), doorWidth+5, y)
		}
	}
	if k.scene.HasTool(DoorChock) {
		k.polygon(lookTool, 1, 0, 9, 0, 9, 2.2)
		k.labelTool(DoorChock, 6, 1)
	}
	if k.scene.HasTool(Irons) {
		k.line(lookRod, 7, -14, 72, 7, 66)
		k.labelTool(Irons, -10, 71)
		k.line(lookPath, 4, -12, 64, 3, 61)
	}
}

func facePanels(k *sketch) {
	const wide, high, panels = 108.0, 84.0, 4
	k.box(lookFrame, -6, 0, wide+6, high+6)
	for i := range panels {
		k.box(lookDoor, 0, float64(i)*high/panels, wide, float64(i+1)*high/panels)
	}
	k.label(Panels, wide*0.75, high*0.6)
	if k.has(CentreLock) {
		k.circle(lookSteel, wide/2, high*0.4, 4)
		k.box(lookSteel, wide/2-9, high*0.4-1.5, wide/2+9, high*0.4+1.5)
		k.box(lookGhost, -4, high*0.4-1, wide/2-9, high*0.4+1)
		k.box(lookGhost, wide/2+9, high*0.4-1, wide+4, high*0.4+1)
		k.label(CentreLock, wide/2, high*0.4)
	}
	k.line(lookMotion, 0, wide*0.2, 10, wide*0.2, 48)
	k.write("push", "lifts", wide*0.2, 30)
}

func faceSlats(k *sketch) {
	const wide, high, box = 96.0, 84.0, 12.0
	k.box(lookFrame, -5, 0, wide+5, high)
	k.box(lookPlate, -8, high, wide+8, high+box)
	k.write("rollbox", "roll box", wide*0.7, high+box/2)
	for y := 4.0; y < high; y += 8 {
		k.box(lookDoor, 0, y, wide, y+8)
	}
	k.box(lookSteel, 0, 0, wide, 4)
	k.label(Slats, wide*0.6, high*0.6)
	if k.has(FootLock) {
		k.box(lookPin, -4, 1, 3, 5)
		k.box(lookPin, wide-3, 1, wide+4, 5)
		k.label(FootLock, wide-1, 3)
		k.circle(lookSteel, wide/2, 2, 2.6)
	}
	k.line(lookMotion, 0, wide*0.2, 14, wide*0.2, 50)
}

func faceGate(k *sketch) {
	const wide, high = 44.0, 66.0
	k.box(lookFrame, -12, 0, -4, high+6)
	for x := 0.0; x <= wide; x += wide / 6 {
		k.box(lookSteel, x-0.8, 3, x+0.8, high)
	}
	for _, y := range []float64{8, high - 8} {
		k.box(lookSteel, -1, y-1.2, wide+1, y+1.2)
	}
	k.line(lookLine, 3, -30, 0, wide+14, 0)
	k.label(Gate, wide*0.66, high-8)
	if k.has(Chain) {
		for i := range 8 {
			t := float64(i) / 7
			k.oval(lookPlate, -13+t*17, 38-6*t*(1-t)*2, 1.9, 1.2)
		}
		k.label(Chain, -9, 37)
	}
	if k.has(Padlock) {
		k.arc(lookLine, 3, 33.5, 2.4, 0, 3.1416)
		k.box(lookPlate, -0.5, 27, 6.5, 33.5)
		k.label(Padlock, 3, 30)
	}
}

func faceSlider(k *sketch) {
	const wide, high = 36.0, 80.0
	k.box(lookFrame, -4, -3, 2*wide+4, high+4)
	k.box(lookVoid, 0, 0, 2*wide, high)
	k.box(lookGlass, wide-2, 1, 2*wide, high-1)
	k.box(lookDoor, 0, 1, wide+2, high-1)
	k.box(lookGlass, 4, 5, wide-2, high-5)
	k.box(lookSteel, 1.2, 36, 3, 46)
	k.label(SlidePanel, 18, 62)
	k.line(lookMotion, 0, 8, 30, 28, 30)
	if k.has(SlideHook) {
		k.polygon(lookPin, 2, 43, -1.8, 43, -1.8, 40, -0.6, 40, -0.6, 41.6, 2, 41.6)
		k.label(SlideHook, -0.8, 42)
	}
	if k.has(TrackStick) {
		k.box(lookTool, wide+2.5, 0, 2*wide, 1.8)
		k.label(TrackStick, 1.5*wide, 1)
	}
}
