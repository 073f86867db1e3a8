package drawing

import "slices"

// Part names a thing in a scene, as cards write it.
type Part string

// Parts that a view always shows. Listing one in a card adds its label.
const (
	Frame  Part = "frame"
	Door   Part = "door"
	Stop   Part = "stop"
	GapAt  Part = "gap"
	Bevel  Part = "bevel"
	Strike Part = "strike"
	Floor  Part = "floor"
)

// Locks and what belongs to them.
const (
	Latch          Part = "latch"
	LatchHeld      Part = "latch-held" // pressed in, flush with the edge
	RimLatch       Part = "rim-latch"  // on the door's inside face
	PlungerIn      Part = "plunger-in"
	PlungerPartly  Part = "plunger-partly"
	PlungerOut     Part = "plunger-out"
	Bolt           Part = "bolt"
	HookBolt       Part = "hook-bolt"
	GuardPlate     Part = "guard-plate"
	ElectricStrike Part = "electric-strike"
	Cylinder       Part = "cylinder"
	Thumbturn      Part = "thumbturn"
	Lever          Part = "lever"
	Handle         Part = "handle"
	ExitBar        Part = "exit-bar"
	Rods           Part = "rods"
	DropBar        Part = "drop-bar"
	Magnet         Part = "magnet"
	Sensor         Part = "sensor"
	SwingBar       Part = "swing-bar"
	RoomLatch      Part = "room-latch"
	Chain          Part = "chain"
	Padlock        Part = "padlock"
	SlideHook      Part = "slide-hook"
	TrackStick     Part = "track-stick"
	CentreLock     Part = "center-lock"
	FootLock       Part = "foot-lock"
)

// The rest of a door.
const (
	NarrowStile Part = "narrow-stile" // slim metal edge with glass behind it
	SecondLeaf  Part = "second-leaf"
	Hinges      Part = "hinges"
	Closer      Part = "closer"
	FireLabel   Part = "fire-label"
	Sign        Part = "sign"
	KeyBox      Part = "key-box"
	Window      Part = "window"
	Pane        Part = "pane"
	Panels      Part = "panels"
	Slats       Part = "slats"
	Gate        Part = "gate"
	SlidePanel  Part = "slide-panel"
	Reader      Part = "reader"
)

// word is what the program says about a part or a tool. In alt, {slope}
// and {stop} are filled in for the scene's swing.
type word struct {
	label string // at most maxLabel characters
	alt   string // one sentence
	views []View
}

var partWords = map[Part]word{
	Frame:  {"frame", "", []View{Plan, Lock, Face, Head}},
	Door:   {"door", "", []View{Plan, Lock, Edge, Face, Head, Foot}},
	Stop:   {"stop", "The stop of the frame is on the {stop} side of the door.", []View{Plan}},
	GapAt:  {"gap", "The gap between door and frame is marked.", []View{Plan, Lock, Foot, Head, Face}},
	Bevel:  {"slanted edge", "The door's edge is cut on a slant.", []View{Plan}},
	Strike: {"strike", "The strike is the plate with the hole, on the frame.", []View{Plan}},
	Floor:  {"floor", "", []View{Foot}},

	Latch:          {"latch", "A spring latch sticks into the frame. Its slope faces {slope}.", []View{Plan, Lock, Edge}},
	LatchHeld:      {"latch held in", "The latch is held in, so it cannot catch.", []View{Plan}},
	RimLatch:       {"latch box, inside", "The latch sits in a box on the inside face of the door.", []View{Plan}},
	PlungerIn:      {"pin in: latch blocked", "The small pin beside the latch is pressed in, so the latch is blocked.", []View{Plan, Edge}},
	PlungerPartly:  {"pin partly in", "The small pin beside the latch is partly in and may block the latch.", []View{Plan, Edge}},
	PlungerOut:     {"pin out: latch free", "The small pin beside the latch is out, so the latch can move.", []View{Plan, Edge}},
	Bolt:           {"bolt: square, no slope", "A square bolt is thrown. A blade cannot push it back.", []View{Plan, Lock, Edge}},
	HookBolt:       {"swing or hook bolt", "A long swing or hook bolt is thrown deep into the frame.", []View{Plan, Lock}},
	GuardPlate:     {"guard plate", "A guard plate on the outside covers the gap at the latch.", []View{Plan, Lock}},
	ElectricStrike: {"electric strike", "The strike in the frame has a lip that swings open when it is released.", []View{Plan}},
	Cylinder:       {"lock cylinder", "The key cylinder is on your side of the door.", []View{Plan, Face}},
	Thumbturn:      {"thumbturn", "A thumbturn is on the inside face of the door.", []View{Plan}},
	Lever:          {"inside lever", "A lever handle is on the inside.", []View{Foot}},
	Handle:         {"handle", "The handle is at the lock edge.", []View{Face}},
	ExitBar:        {"exit bar", "An exit bar crosses the inside of the door.", []View{Plan, Face}},
	Rods:           {"rods, top and bottom", "Rods run from the bar to latches at the head and at the floor.", []View{Face}},
	DropBar:        {"drop bar", "A heavy bar lies in brackets across the inside of the door and frame.", []View{Plan}},
	Magnet:         {"magnet", "A magnet on the frame holds a steel plate on the door.", []View{Head, Face}},
	Sensor:         {"motion sensor", "A motion sensor above the door looks down at the inside.", []View{Head}},
	SwingBar:       {"swing bar", "The door stands open a crack. A loop from the frame rides on a knob on the door and stops it.", []View{Plan}},
	RoomLatch:      {"hinged latch", "The door stands open a crack. A hinged plate on the frame folds over the door's edge and stops it.", []View{Plan}},
	Chain:          {"chain", "The door stands open a crack. A chain runs from the frame to a track on the door.", []View{Plan, Face}},
	Padlock:        {"padlock", "A padlock closes the chain.", []View{Face}},
	SlideHook:      {"hook at this edge", "A small hook locks the moving panel to the side of the frame.", []View{Face}},
	TrackStick:     {"stick in the track", "A stick in the track keeps the panel from sliding.", []View{Face}},
	CentreLock:     {"center handle", "A handle in the middle works bars to both sides.", []View{Face}},
	FootLock:       {"lock at the floor", "Lock pins hold the foot at both sides.", []View{Face}},

	NarrowStile: {"slim metal stile", "The door is glass with a slim metal edge.", []View{Plan}},
	SecondLeaf:  {"other leaf", "Two leaves meet in the middle.", []View{Plan, Face}},
	Hinges:      {"hinges, your side", "The hinge barrels show on your side.", []View{Face}},
	Closer:      {"closer", "A closer at the head shuts the door.", []View{Face}},
	FireLabel:   {"fire label", "A fire label is on the hinge edge.", []View{Face}},
	Sign:        {"sign with the wait", "A sign on the door tells how long the wait is.", []View{Face}},
	KeyBox:      {"key box", "A key box hangs beside the door.", []View{Face}},
	Window:      {"low window", "A low window is near the door.", []View{Face}},
	Pane:        {"small pane", "A small pane of glass is near the lock.", []View{Face}},
	Panels:      {"panels", "The door is made of wide panels that lift on rails.", []View{Face}},
	Slats:       {"slats", "The door is a curtain of slats that rolls up.", []View{Face}},
	Gate:        {"gate", "It is a gate of upright bars.", []View{Face}},
	SlidePanel:  {"this panel slides", "Two glass panels stand in one track. One of them slides.", []View{Face}},
	Reader:      {"card reader", "A card reader is beside the door, outside.", []View{Face, Head}},
}

func (w word) in(v View) bool { return slices.Contains(w.views, v) }

// build is the kind of door that a part of a [Face] belongs to, named by the
// part that stands for it; empty for leaves on hinges.
func (p Part) build() Part {
	switch p {
	case Panels, CentreLock:
		return Panels
	case Slats, FootLock:
		return Slats
	case Gate, Chain, Padlock:
		return Gate
	case SlidePanel, SlideHook, TrackStick:
		return SlidePanel
	}
	return ""
}

// build is the kind of door that the scene shows; the first part decides.
func (s Scene) build() Part {
	for _, p := range s.Parts {
		if build := p.build(); s.View == Face && build != "" {
			return build
		}
	}
	return ""
}

// shows reports whether the scene has a place for the part.
func (s Scene) shows(p Part) bool {
	return partWords[p].in(s.View) && (s.View != Face || p.build() == s.build())
}
