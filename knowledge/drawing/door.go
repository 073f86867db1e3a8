package drawing

import "slices"

// Facts are what is known about one door, in the words that crews and the
// planner use. An empty string and false mean "not known", and are drawn as
// the usual door.
type Facts struct {
	Swing     string // out, in, sliding, overhead
	Pair      bool
	Lock      string // spring-latch, deadlatch, deadbolt, mortise, narrow-stile, exit-rim, exit-vertical-rod, magnetic, electric-strike, swing-bar, room-latch, chain, padlock
	Bolt      bool   // a bolt is thrown
	Guard     bool   // a plate covers the latch
	Plunger   string // none, out, partly, in
	Gap       string // tight, normal, loose
	Lever     bool
	Thumbturn bool
	Sensor    bool
	Tools     []string // card ids of the tools of the step to show
}

// ForDoor makes the scene of a particular door. Tools that cannot be drawn on
// it are left out; so is a part whose place another one takes. What had to be
// assumed about the swing stands in the caption.
func ForDoor(f Facts) Scene {
	s := Scene{View: viewFor(f), Swing: Out, Gap: gapOf(f.Gap)}
	s.Swing, s.Caption = swingOf(f)
	s.addParts(partsFor(f)...)
	for _, name := range f.Tools {
		if tool := Tool(name); s.misfit(tool) == "" && !s.HasTool(tool) && len(s.Tools) < maxTools {
			s.Tools = append(s.Tools, tool)
		}
	}
	return s
}

// swingOf is the swing to draw, and what to say when it is not the door's.
func swingOf(f Facts) (Swing, string) {
	room := f.Lock == "swing-bar" || f.Lock == "room-latch" || f.Lock == "chain"
	switch {
	case f.Swing == string(In):
		return In, ""
	case room:
		return In, "Drawn as a push door, as most rooms have."
	case f.Swing == "" || f.Swing == "unknown":
		return Out, "The swing is not known. It is drawn as a pull door."
	}
	return Out, ""
}

func gapOf(word string) Gap {
	if gap := Gap(word); gap == Tight || gap == Loose {
		return gap
	}
	return Normal
}

// viewFor picks the view that shows what holds the door, or what the tool does.
func viewFor(f Facts) View {
	uses := func(t Tool) bool { return slices.Contains(f.Tools, string(t)) }
	switch {
	case f.Swing == "sliding", f.Swing == "overhead", f.Lock == "padlock", f.Lock == "exit-vertical-rod" && !uses(PairDoorHook):
		return Face
	case uses(UnderDoorLever):
		return Foot
	case f.Lock == "magnetic", uses(AirDuster):
		return Head
	case f.Swing != string(In) && (uses(NarrowBar) || uses(WideBar) || uses(ThickShim) || uses(ThinShim)):
		return Lock
	}
	return Plan
}

// partsFor lists what the facts tell, the hold first. A part that another one
// rules out is left out by addParts.
func partsFor(f Facts) []Part {
	var parts []Part
	add := func(when bool, p ...Part) {
		if when {
			parts = append(parts, p...)
		}
	}
	add(f.Swing == "sliding", SlidePanel, SlideHook)
	add(f.Swing == "overhead", Panels, CentreLock)
	add(f.Lock == "swing-bar", SwingBar)
	add(f.Lock == "room-latch", RoomLatch)
	add(f.Lock == "chain", Chain)
	add(f.Lock == "padlock", Gate, Chain, Padlock)
	add(f.Pair, SecondLeaf)
	add(f.Lock == "magnetic", Magnet)
	add(f.Lock == "exit-vertical-rod", SecondLeaf, Rods)
	add(f.Lock == "exit-rim" || f.Lock == "exit-vertical-rod", ExitBar)
	add(f.Lock == "exit-rim", RimLatch)
	add(f.Lock == "narrow-stile", NarrowStile)
	add(f.Lock == "narrow-stile" && f.Bolt, HookBolt)
	add(f.Lock == "electric-strike", ElectricStrike)
	add(f.Bolt || f.Lock == "deadbolt", Bolt)
	add(hasSpringLatch(f), Latch)
	add(f.Plunger == "in", PlungerIn)
	add(f.Plunger == "partly", PlungerPartly)
	add(f.Plunger == "out", PlungerOut)
	add(f.Guard && f.Swing != "in", GuardPlate)
	add(f.Thumbturn, Thumbturn)
	add(f.Lever, Lever)
	add(f.Sensor, Sensor)
	return parts
}

func hasSpringLatch(f Facts) bool {
	switch f.Lock {
	case "", "unknown", "spring-latch", "deadlatch", "mortise", "narrow-stile", "electric-strike":
		return true
	}
	return false
}

// addParts adds the parts that the view shows and that nothing already there
// excludes.
func (s *Scene) addParts(parts ...Part) {
	for _, part := range parts {
		with := *s
		with.Parts = append(slices.Clone(s.Parts), part)
		fits := with.shows(part) && s.clash(part) == "" && !s.Has(part) && len(s.Parts) < maxParts
		if fits {
			s.Parts = append(s.Parts, part)
		}
	}
}
