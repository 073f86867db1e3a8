package demo

// use is the body of a record of use, in the words that package command reads.
type use struct {
	Technique string
	Items     []string
	Tries     int
	Outcome   string
	Mark      string
	Practice  bool
	Call      string
	Unit      string `json:"unit"`
	Platoon   string `json:"platoon"`
}

// attempt is a way that the demo's crews have used, with what came of it.
type attempt struct {
	technique string
	item      string
	call      string
	outcomes  []string // of which one is drawn
	mark      string
}

func attempts() []attempt {
	return []attempt{
		{"slip-outward", "shove-knife", "lift-assist", []string{"opened", "opened", "opened", "not yet"}, "none"},
		{"slip-inward", "latch-film", "welfare-check", []string{"opened", "opened", "not yet"}, "none"},
		{"slip-tight-gap", "traveler-hook-small", "lift-assist", []string{"opened", "opened", "not yet"}, "none"},
		{"slip-behind-guard", "guard-bar-narrow", "alarm-sounding", []string{"opened", "not yet"}, "none"},
		{"lever-under-door", "under-door-lever", "guest-room", []string{"opened", "opened", "opened"}, "none"},
		{"swing-bar-release", "notched-card", "guest-room", []string{"opened", "opened", "not yet"}, "none"},
		{"thumbturn-reach", "thumbturn-fork", "alarm-sounding", []string{"opened", "not yet"}, "none"},
		{"pair-door-pull", "pair-door-hook", "alarm-sounding", []string{"opened", "opened", "not yet"}, "none"},
		{"plunger-spread", "air-wedge", "water-leak", []string{"opened", "opened"}, "scuff"},
		{"through-the-lock", "cylinder-set", "welfare-check", []string{"opened", "opened", "opened"}, "hardware"},
		{"force-it", "irons", "fire", []string{"opened"}, "door"},
	}
}

// uses are four dozen calls of the year on which a crew told how it went.
func (p *past) uses() {
	units := p.d.KitUnits()
	for i := range 48 {
		a := attempts()[p.random.IntN(len(attempts()))]
		unit := units[p.random.IntN(len(units))].ID
		at := p.ago(358-7*i-p.random.IntN(7), p.random.IntN(24), p.random.IntN(60))
		by := p.onDuty(unit, at)
		body := use{Technique: a.technique, Items: []string{a.item}, Tries: 1 + p.random.IntN(3), Call: a.call, Mark: a.mark,
			Outcome: a.outcomes[p.random.IntN(len(a.outcomes))], Unit: unit, Platoon: by.Platoon}
		p.journal("use", a.technique, by, at, body)
	}
}

// drills are short practices of the last four months.
func (p *past) drills() {
	for _, days := range []int{112, 97, 82, 66, 51, 37, 21, 6} {
		for _, unit := range []string{"engine-1", "rescue-2", "engine-3", "engine-6"} {
			at := p.ago(days, 10, p.random.IntN(60))
			by := p.onDuty(unit, at)
			card := attempts()[p.random.IntN(8)].technique
			p.journal("drill", card, by, at, map[string]string{"card": card, "unit": unit, "platoon": by.Platoon})
		}
	}
}

// wishes are what crews asked for, and what they asked that no card answers.
func (p *past) wishes() {
	for _, w := range []struct {
		daysAgo         int
		unit, item, why string
	}{
		{140, "engine-3", "latch-film", "one sheet is creased after every inward door"},
		{61, "ladder-4", "inspection-mirror", "the light is too weak to see the plunger"},
		{24, "rescue-2", "air-wedge", "a second one for tall doors"},
	} {
		at := p.ago(w.daysAgo, 14, 20)
		p.journal("wish", w.item, p.onDuty(w.unit, at), at, map[string]string{"for": w.item, "reason": w.why, "unit": w.unit})
	}
	for _, q := range []struct {
		daysAgo int
		text    string
	}{{88, "how do we open a bank vault"}, {19, "which radio channel for the harbor patrol"}} {
		at := p.ago(q.daysAgo, 19, 5)
		p.journal("unanswered", q.text, p.onDuty("engine-1", at), at, map[string]string{"question": q.text})
	}
}
