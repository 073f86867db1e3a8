package drawing

import "math"

// A side view is cut from the outside, at the left, to the inside. x = 0 is the
// pull face of an outward door; y is the height above the floor. The gaps are
// drawn wider than they are, so that a phone shows them.

const (
	drawnHeadGap = 0.9
	drawnFootGap = 1.6 // 3/4 in is the most, NFPA 80 6.3.1.7 (secondary text)
	sideLeft     = -26.0
	sideRight    = 32.0
)

func sketchSide(k *sketch) {
	if k.scene.View == Foot {
		sketchFoot(k)
	} else {
		sketchHead(k)
	}
	sideLeafLabel(k)
}

func sideLeafLabel(k *sketch) {
	if k.scene.View == Foot {
		k.label(Door, doorThickness/2, 20)
	} else {
		k.label(Door, doorThickness/2, 48)
	}
}

func sketchHead(k *sketch) {
	const low, ceiling = 42.0, 98.0
	k.box(lookDoor, 0, low, doorThickness, doorHeight)
	head := doorHeight + drawnHeadGap
	k.polygon(lookFrame, 0, head, doorThickness+0.2, head, doorThickness+0.2, head-1, 5.75, head-1, 5.75, ceiling, 0, ceiling)
	k.line(lookLine, 2, sideLeft, ceiling, sideRight, ceiling)
	k.label(Frame, 3, ceiling-5)
	k.labelIfNamed(GapAt, doorThickness/2, doorHeight+drawnHeadGap/2)
	if k.has(Reader) {
		k.box(lookPlate, -1.2, 46, 0, 51)
		k.label(Reader, -0.8, 49)
	}
	if k.has(Magnet) {
		k.box(lookPlate, 5.75, head-4, 8.4, head+1)
		k.box(lookSteel, doorThickness, head-6.2, doorThickness+0.8, head-1.6)
		k.box(lookPlate, doorThickness+0.8, head-3.6, 5.75, head-1)
		k.write(Magnet, partWords[Magnet].label, 7, head-1.5)
		k.write("armature", "plate on the door", doorThickness+0.5, head-5)
	}
	if k.has(Sensor) {
		k.box(lookSteel, 5.75, head+5.5, 8.2, head+8)
		k.polygon(lookGhost, 7.5, head+5.5, 8, low+2, 27, low+2)
		k.label(Sensor, 7, head+7)
		k.write("view", "what it sees", 15, 58)
	}
	if k.scene.HasTool(AirDuster) {
		duster(k, head)
	}
}

// duster stands upside down outside, its straw through the gap at the head.
func duster(k *sketch, head float64) {
	k.line(lookRod, 3, -14, head-5, -0.5, doorHeight+0.45, doorThickness+2, doorHeight-0.2)
	k.box(lookTool, -16.5, head-4.5, -12, head+8)
	k.polygon(lookTool, -15.5, head-4.5, -13, head-4.5, -13, head-6.5, -15.5, head-6.5)
	k.labelTool(AirDuster, -14.2, head+5)
	k.line(lookMotion, 0, doorThickness+3.5, doorHeight-1.5, 20, 66)
	k.write("plume", "cold plume", 16, 69.2)
	k.line(lookPath, 4, -2, 55, -13, 55)
	k.write("push", "pull at the same time", -8, 55)
}

func sketchFoot(k *sketch) {
	const high = 50.0
	k.box(lookFrame, sideLeft, -4, sideRight, 0)
	k.label(Floor, 20, -2)
	k.box(lookDoor, 0, drawnFootGap, doorThickness, high)
	k.labelIfNamed(GapAt, doorThickness/2, drawnFootGap/2)
	if k.has(Lever) {
		k.box(lookSteel, doorThickness, leverHeight-0.6, doorThickness+2.2, leverHeight+0.6)
		k.box(lookSteel, doorThickness+1.6, leverHeight-0.6, doorThickness+6.6, leverHeight+0.7)
		k.label(Lever, doorThickness+5, leverHeight+0.2)
	}
	k.box(lookSteel, -2.2, leverHeight-0.6, 0, leverHeight+0.6)
	k.circle(lookSteel, -2.6, leverHeight, 1.5)
	if k.scene.HasTool(UnderDoorLever) {
		rodUnderDoor(k)
	}
}

func rodUnderDoor(k *sketch) {
	const inside = doorThickness + 4
	k.line(lookRod, 4, -20, 2.2, -6, drawnFootGap/2, inside, drawnFootGap/2, inside, leverHeight+3)
	k.line(lookLine, 1.8, inside, leverHeight+3, inside+1.6, leverHeight+0.7, inside+1.4, 4, 1, 0.4, -18, 0.9)
	k.circle(lookTool, -20.5, 2.4, 1.3)
	k.labelTool(UnderDoorLever, inside, 14)
	k.line(lookPath, 4, inside+5, leverHeight-1.5, inside+5, leverHeight-11)
	k.write("turn", "lever comes down", inside+5, leverHeight-7)
	k.line(lookPath, 4, -12, 5.5, -22, 5.5)
	k.write("cable", "pull the cable", -15, 5.5)
	k.arc(lookMotion, 0, drawnFootGap, 22, 0.12*math.Pi, 0.4*math.Pi)
	k.write("stand", "stands up inside", 17, 14)
}
