package drawing

// excluding lists parts that take the same place, but for the view of the edge.
var excluding = [][2]Part{
	{PlungerIn, PlungerOut}, {PlungerIn, PlungerPartly}, {PlungerOut, PlungerPartly},
	{Latch, LatchHeld}, {Latch, Bolt}, {Latch, HookBolt}, {Bolt, HookBolt},
	{SwingBar, RoomLatch}, {SwingBar, Chain}, {RoomLatch, Chain},
	{SecondLeaf, RimLatch}, {SecondLeaf, SwingBar}, {SecondLeaf, RoomLatch},
	{SecondLeaf, Strike}, {SecondLeaf, ElectricStrike},
}

// clash returns a part of the scene that takes the place of another one, or "".
func (s Scene) clash(p Part) Part {
	if s.View == Edge {
		return ""
	}
	for _, pair := range excluding {
		if pair[0] == p && s.Has(pair[1]) {
			return pair[1]
		}
		if pair[1] == p && s.Has(pair[0]) {
			return pair[0]
		}
	}
	return ""
}

// roomGuard holds when the door stands open a crack, stopped by a second lock.
func (s Scene) roomGuard() bool {
	return s.View == Plan && (s.Has(SwingBar) || s.Has(RoomLatch) || s.Has(Chain))
}

// wrongSwing says why the view or a part cannot be drawn with the scene's
// swing, or nothing.
func (s Scene) wrongSwing() string {
	switch {
	case s.View == Lock && s.Swing == In:
		return "on a door that swings in, the stop hides what this view shows"
	case s.roomGuard() && s.Swing != In:
		return "second locks of rooms are drawn on doors that swing in"
	}
	return ""
}

// misfit says why a tool cannot be drawn in the scene, or nothing: the drawing
// would show it where it cannot go.
func (s Scene) misfit(t Tool) string {
	if word := toolWords[t]; !word.in(s.View) {
		return "is not drawn in this view"
	}
	if s.View != Plan {
		return ""
	}
	switch t {
	case ShoveKnife, SmallHook, LargeHook, StileStrip, ThumbturnFork, PairDoorHook:
		if s.Swing == In {
			return "is for doors that swing out"
		}
		if s.Has(GuardPlate) {
			return "does not pass a guard plate"
		}
	case LatchFilm:
		if s.Swing != In {
			return "is for doors that swing in"
		}
	case ReachStrip, NotchedCard, PrivacyLatchHook:
		if !s.roomGuard() {
			return "is drawn only with a second lock of a room"
		}
	}
	return ""
}
