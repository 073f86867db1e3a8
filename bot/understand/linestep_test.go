package understand_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// The words are our own, not tuned to any set.
func TestReadLineStep(t *testing.T) {
	reader := newReader(t)
	for _, row := range []struct {
		text    string
		numbers []int
		order   string
		step    understand.LineStep
	}{
		{"41 ordered, PO 7731, here Friday, $118", []int{41}, "7731", understand.LineStep{To: kit.Ordered, Cents: 11800}},
		{"took 41 and 42", []int{41, 42}, "", understand.LineStep{To: kit.Taken}},
		{"I took #41, #42 and 43", []int{41, 42, 43}, "", understand.LineStep{To: kit.Taken}},
		{"line 41 is not a fault, it was in the other pocket", []int{41}, "", understand.LineStep{To: kit.NotAFault, Note: "it was in the other pocket"}},
		{"41 in hand", []int{41}, "", understand.LineStep{To: kit.InHand}},
		{"got 2 of 4 in for 41", []int{41}, "", understand.LineStep{Came: 2, CameOf: 4}},
		{"41: 2 of 4 came, $9.50", []int{41}, "", understand.LineStep{Came: 2, CameOf: 4, Cents: 950}},
		{"dropped off 41, 42", []int{41, 42}, "", understand.LineStep{To: kit.Dropped}},
		{"dropped off the stuff for E4", nil, "", understand.LineStep{To: kit.Dropped, ByPlace: true}},
		{"took 2", []int{2}, "", understand.LineStep{To: kit.Taken}},
		{"reopen 41", []int{41}, "", understand.LineStep{Reopen: true}},
		{"note 41: supplier has none before May", []int{41}, "", understand.LineStep{Note: "supplier has none before may"}},
		{"41 expected Friday", []int{41}, "", understand.LineStep{To: kit.Ordered}},
		{"41 written off", []int{41}, "", understand.LineStep{Where: kit.WrittenOff}},
		{"I'll take 41", []int{41}, "", understand.LineStep{To: kit.Taken}},
		{"grabbed 41 and 42", []int{41, 42}, "", understand.LineStep{To: kit.Taken}},
		{"41 showed up", []int{41}, "", understand.LineStep{To: kit.InHand}},
		{"41's here now", []int{41}, "", understand.LineStep{To: kit.InHand}},
		{"41 and 42 are both in hand", []int{41, 42}, "", understand.LineStep{To: kit.InHand}},
		{"41 back in the bag", []int{41}, "", understand.LineStep{To: kit.BackInKit}},
		{"put 41 in the kit", []int{41}, "", understand.LineStep{To: kit.BackInKit}},
		{"41 is lost", []int{41}, "", understand.LineStep{Where: kit.WrittenOff}},
		{"lines 41 and 42 are lost", []int{41, 42}, "", understand.LineStep{Where: kit.WrittenOff}},
		{"ordered 41, po 7731, 118.50 dollars", []int{41}, "7731", understand.LineStep{To: kit.Ordered, Cents: 11850}},
		{"41 is in the kit", []int{41}, "", understand.LineStep{To: kit.BackInKit}},
	} {
		t.Run(row.text, func(t *testing.T) {
			got := reader.Read(row.text, understand.Context{})
			if got.Intent != understand.Queue {
				t.Errorf("intent %s", got.Intent)
			}
			if diff := cmp.Diff(row.step, got.Step); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(row.numbers, got.Numbers); diff != "" {
				t.Error(diff)
			}
			if got.Order != row.order {
				t.Errorf("order %q", got.Order)
			}
		})
	}
}

// Counts, tries and reports are not about lines.
func TestNoLineStep(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{
		"took 2 wedges off E4", "4 wedges in the kit", "got 2 of 4 wedges", "2 films ordered?", "E4 dropped off a patient's keys",
		"ordered 2 films for E5", "3 tries and in", "took 2 tries", "E4 is missing 2 wedges", "24 wedges came", "put 2 wedges in the kit",
		"grabbed 2 films", "I'll take 2 wedges", "2 lost wedges", "2 are lost", "lost 2 wedges", "41 minutes and still here now",
	} {
		if got := reader.Read(text, understand.Context{Unit: "engine-4"}); !got.Step.Empty() && !got.Step.ByPlace {
			t.Errorf("%q: %+v of %v", text, got.Step, got.Numbers)
		}
	}
}
