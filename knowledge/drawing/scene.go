package drawing

import "slices"

// View is the side from which a scene is seen.
type View string

// The views. Outside, where the crew stands, is at the bottom of a plan and at
// the left of a side view.
const (
	Plan View = "plan" // from above, cut through at the latch
	Lock View = "lock" // the door's face around the latch
	Edge View = "edge" // the door's lock edge, face on
	Face View = "face" // the whole door, or pair of doors, face on
	Head View = "head" // from the side, cut through, the upper half
	Foot View = "foot" // from the side, cut through, the lower half
	Card View = "card" // a tool by itself, laid flat
)

// Swing is the way the door moves, seen from the crew.
type Swing string

// A door that swings Out opens toward the crew, In away from it.
const (
	Out Swing = "out"
	In  Swing = "in"
)

// Gap is the room between door and frame.
type Gap string

// Normal is the published clearance, Tight and Loose the ends of its tolerance.
const (
	Normal Gap = "normal"
	Tight  Gap = "tight"
	Loose  Gap = "loose"
)

// Push is what the crew does to the door itself while a tool works.
type Push string

// The pushes. The zero value leaves the door alone.
const (
	NoPush    Push = ""
	PushDoor  Push = "push"
	PullDoor  Push = "pull"
	EaseShut  Push = "ease-shut"
	SpreadGap Push = "spread" // the gap is being made wider
)

// Scene is a neutral description of one drawing. It holds what is there and
// what is done, not where: positions follow from the dimensions of real doors.
// The zero value is not a scene; take one from [Parse] or [ForDoor].
type Scene struct {
	View    View
	Swing   Swing
	Gap     Gap
	Parts   []Part
	Tools   []Tool
	Push    Push
	Labels  map[Part]string // in place of the usual label; empty for none
	Caption string          // a line below the drawing; may be empty
}

// Has reports whether the part is in the scene.
func (s Scene) Has(p Part) bool { return slices.Contains(s.Parts, p) }

// HasTool reports whether the tool is in the scene.
func (s Scene) HasTool(t Tool) bool { return slices.Contains(s.Tools, t) }

// Options say how a scene is drawn.
type Options struct {
	Width int  // pixels, 160 to 2400; 0 means 390, a common phone
	Dark  bool // light lines on a dark ground
}
