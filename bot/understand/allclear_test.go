package understand_test

import (
	"slices"
	"testing"

	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// A false all-clear sends a crew out short: it needs words that say so, and none
// that doubt it.
func TestAllClear(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]kit.CheckResult{
		"E4 checked, all there": kit.AllThere, "E4 all there": kit.AllThere, "E4 checked, nothing missing": kit.AllThere, "all 25 there on E4": kit.AllThere,
		"no, everything's there": kit.AllThere, "E4 good to go": kit.AllThere, "E4 isn't missing anything": kit.AllThere, "E4 checked, no issues": kit.AllThere,
		"E4 checked, not all there": kit.Off, "E4 isn't all there": kit.Off, "E4 is not complete": kit.Off, "E4 all there but the strap": kit.Off,
		"E4 checked": "", "I think E4 is all there": "", "E4 almost all there": "", "everything is in the wrong pouch": "",
		"E4 all there, E2 not": "", "E4 will be complete tomorrow": "",
		"no newline at end E4 strap": "", "not E4 strap fine": "", "can't check E4 today": kit.NotToday,
	} {
		if got := reader.Read(text, engine4); got.Check != want {
			t.Errorf("%q: %s %q, want %q", text, got.Intent, got.Check, want)
		}
	}
}

func TestSealState(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]understand.SealState{
		"E1 tag 004501 intact": understand.SealIntact, "E1 tag 004501 still whole": understand.SealIntact, "seal 004501 is not broken": understand.SealIntact,
		"E1 tag 004501 unbroken": understand.SealIntact, "tag 004501 good": understand.SealIntact,
		"E1 tag 004501 broken": understand.SealBroken, "E1 tag 004501 missing": understand.SealBroken, "E1 tag 004501 not intact": understand.SealBroken,
		"E1 tag 004501 gone": understand.SealBroken, "E1 seal 004501 cut": understand.SealBroken, "E1 tag 004501 isn't whole": understand.SealBroken,
		"E1 tag 004501": "", "tag 004501 intact I think": "", "is tag 004501 intact": "", "tag 004501 wasn't looked at": "",
	} {
		got := reader.Read(text, engine4)
		if got.SealState != want || got.Check == kit.AllThere {
			t.Errorf("%q: %s %q check %q, want %q", text, got.Intent, got.SealState, got.Check, want)
		}
	}
}

func TestStopUseWhateverElse(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{
		"stop using the air wedge on E4, it blew apart", "pull all air wedges lot 7", "nobody use the film, it shatters",
		"recall the steel wedges, one exploded", "quit using the short pry bar, it snapped",
	} {
		if got := reader.Read(text, engine4); got.Intent != understand.StopUse || got.Down {
			t.Errorf("%q: %s, down %v", text, got.Intent, got.Down)
		}
	}
	if got := reader.Read("the air wedge blew apart", engine4); got.Intent != understand.Report || got.Door.Urgency != "" {
		t.Errorf("a tool that burst: %s %s", got.Intent, got.Door.Urgency)
	}
}

func TestSomebodyDownNeedsNoDoor(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{"somebody's down", "man down", "not breathing", "he's not breathing", "she is unresponsive", "officer down"} {
		got := reader.Read(text, engine4)
		if got.Intent != understand.Door || !got.Down || len(got.AskBack) > 0 || got.Door.Urgency != door.UrgencyLife {
			t.Errorf("%q: %s down %v asks %v", text, got.Intent, got.Down, got.AskBack)
		}
	}
}

func TestDropBar(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{
		"inward door, a 2x4 across in brackets", "barricade bar on the inside, swings in", "there's a drop bar across the back door",
	} {
		if got := reader.Read(text, engine4); got.Door.Bolt != door.Yes {
			t.Errorf("%q: bolt %v", text, got.Door.Bolt)
		}
	}
}

func TestDates(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]string{
		"who's on Dec 25": "12-25", "who's on 12/25": "12-25", "who's on the 5th of December": "12-05", "who works christmas": "12-25",
		"who is on new year's eve": "12-31", "who has next tuesday": "next tuesday", "who's on in three days": "+3d", "who's on day after tomorrow": "+2d",
		"who's on 2026-12-24": "2026-12-24", "who's on December 24, 2026": "2026-12-24", "who is on friday": "friday", "who's on in a week": "+7d",
		"who's on thanksgiving": "thanksgiving", "who's on feb 30": "feb 30", "who's on the 3rd": "the 3rd", "who's on 13/45": "13/45", "12/25": "12-25",
	} {
		if got := reader.Read(text, engine4); got.Intent != understand.Duty || !slices.Equal(got.Days, []string{want}) {
			t.Errorf("%q: %s %v, want %s", text, got.Intent, got.Days, want)
		}
	}
	if got := reader.Read("wood wedges 2/4 left", engine4); len(got.Days) > 0 {
		t.Errorf("a count is no date: %v", got.Days)
	}
}

func TestDuty(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{"is B on friday", "when do we work next", "whose shift is it", "when is D back", "who's up next"} {
		if got := reader.Read(text, engine4); got.Intent != understand.Duty {
			t.Errorf("%q: %s", text, got.Intent)
		}
	}
}
