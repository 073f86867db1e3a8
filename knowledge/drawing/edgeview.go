package drawing

// sketchEdge shows the lock edge of an open door, outside at the left. The
// pull face of an outward door is outside.
func sketchEdge(k *sketch) {
	const half, low, high = doorThickness / 2, -4.6, 4.6
	toward := -1.0 // from the middle to the pull face
	if k.scene.Swing == In {
		toward = 1
	}
	k.box(lookDoor, -half, low, half, high)
	k.label(Door, 0, low+0.5)
	k.box(lookPlate, -0.6, -3.6, 0.6, 3.6)
	k.write("face", "face plate", 0.45, -3.2)
	if k.has(Latch) {
		k.box(lookSteel, -latchThickness/2, -0.5, latchThickness/2, 0.5)
		k.polygon(lookVoid, -toward*0.02, -0.5, -toward*latchThickness/2, -0.5, -toward*latchThickness/2, 0.5, -toward*0.02, 0.5)
		k.label(Latch, 0, -0.2)
	}
	for _, plunger := range []Part{PlungerIn, PlungerPartly, PlungerOut} {
		if k.has(plunger) {
			k.oval(lookPin, toward*0.4, 0, 0.1, 0.35)
			k.label(plunger, toward*0.4, 0.1)
		}
	}
	if k.has(Bolt) {
		k.box(lookSteel, -0.3, 1.5, 0.3, 2.7)
		k.label(Bolt, 0, 2.1)
	}
	for _, side := range []float64{-1, 1} {
		k.box(lookSteel, side*half, -0.35, side*(half+0.5), 0.35)
		k.box(lookSteel, side*(half+0.5), -0.6, side*(half+0.9), 0.6)
	}
	k.write("handle", "handle", half+0.7, 0.2)
}
