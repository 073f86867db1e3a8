package drawing

// Tool names a tool by the id of its card.
type Tool string

// The tools that can be drawn.
const (
	ShoveKnife        Tool = "shove-knife"
	SmallHook         Tool = "traveler-hook-small"
	LargeHook         Tool = "traveler-hook-large"
	NarrowBar         Tool = "guard-bar-narrow"
	WideBar           Tool = "guard-bar-wide"
	ThickShim         Tool = "latch-shim-thick"
	ThinShim          Tool = "latch-shim-thin"
	StileStrip        Tool = "stile-strip"
	LatchFilm         Tool = "latch-film"
	ReachStrip        Tool = "reach-strip"
	PairDoorHook      Tool = "pair-door-hook"
	ThumbturnFork     Tool = "thumbturn-fork"
	UnderDoorLever    Tool = "under-door-lever"
	AirWedge          Tool = "air-wedge"
	WoodWedge         Tool = "wood-wedge"
	SteelWedge        Tool = "steel-wedge"
	ShortBar          Tool = "pry-bar-short"
	DoorStrap         Tool = "door-strap"
	DoorChock         Tool = "door-chock"
	ScrewdriverSet    Tool = "screwdriver-set"
	AirDuster         Tool = "air-duster"
	PrivacyLatchHook  Tool = "privacy-latch-hook"
	NotchedCard       Tool = "notched-card"
	Irons             Tool = "irons"
	CylinderPullerSet Tool = "cylinder-set"
)

var toolWords = map[Tool]word{
	ShoveKnife:        {"notched blade", "The notched blade goes into the gap, behind the slope of the latch, and is pulled back toward you.", []View{Plan, Lock}},
	SmallHook:         {"small hook", "The thin hook goes into the gap, its tip swings behind the slope of the latch, and it is drawn back toward you.", []View{Plan, Lock}},
	LargeHook:         {"large hook", "The hook goes into the gap, its tip swings behind the slope of the latch, and it is drawn back toward you.", []View{Plan, Lock}},
	NarrowBar:         {"narrow guard bar", "The bar goes behind the end of the plate, its spine on the frame, and is driven down onto the latch.", []View{Lock}},
	WideBar:           {"wide guard bar", "The bar goes behind the end of the plate, its spine on the frame, and is driven down onto the latch.", []View{Lock}},
	ThickShim:         {"thick shim", "The shim goes behind the end of the plate and is pushed down onto the slope of the latch.", []View{Lock}},
	ThinShim:          {"thin shim", "The shim goes behind the end of the plate and is pushed down onto the slope of the latch.", []View{Lock}},
	StileStrip:        {"slim strip", "The slim strip goes into the gap above the latch, down to its slope, and is pulled toward you.", []View{Plan, Lock}},
	LatchFilm:         {"film", "The film goes around the stop into the gap and wipes over the slope of the latch.", []View{Plan}},
	ReachStrip:        {"strip", "The strip goes through the crack and pushes the end of the chain along its track.", []View{Plan}},
	PairDoorHook:      {"formed rod", "The rod goes between the leaves, turns behind the exit bar and is pulled toward you.", []View{Plan}},
	ThumbturnFork:     {"forked rod", "The forked rod goes through the gap, around the edge, and turns the thumbturn.", []View{Plan}},
	UnderDoorLever:    {"rod and cable", "The rod goes under the door and stands up inside. Its cable pulls the lever down.", []View{Foot}},
	AirWedge:          {"air wedge", "The air wedge sits in the gap near the latch and makes the gap wider.", []View{Lock}},
	WoodWedge:         {"wood wedge", "A wood wedge holds the gap open.", []View{Lock}},
	SteelWedge:        {"steel wedge", "A steel wedge holds the gap open.", []View{Lock}},
	ShortBar:          {"short bar", "The short bar twists in the gap.", []View{Lock}},
	DoorStrap:         {"strap on both handles", "A strap runs around the door's edge from handle to handle.", []View{Plan}},
	DoorChock:         {"chock", "A chock under the door keeps it open.", []View{Face}},
	ScrewdriverSet:    {"driver, tap upward", "A driver under the pin's head taps the pin upward, the lowest hinge first.", []View{Face}},
	AirDuster:         {"duster, upside down", "The straw of the upside-down duster goes through the top gap and blows a cold plume across the sensor's view.", []View{Head}},
	PrivacyLatchHook:  {"flat hook", "The flat hook goes through the crack, behind the free edge of the plate, and folds it back.", []View{Plan}},
	NotchedCard:       {"notched card", "The notched card goes through the crack and pushes the guard back while the door is eased almost shut.", []View{Plan, Card}},
	Irons:             {"bar of the irons", "The blade of the bar is driven into the gap at the lock and pried outward.", []View{Plan, Lock, Face}},
	CylinderPullerSet: {"cylinder puller", "The puller bites behind the collar of the cylinder and pulls it out toward you.", []View{Plan}},
}
