package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// The journal's words for a kit that went to another place, one that got a new
// tag, and one that was brought to another list.
const (
	kitMovedKind  = "kit-moved"
	kitSealedKind = "kit-sealed"
	kitPackedKind = "kit-packed"
)

// fleet is where the department's kits are now, with their tags and lists. Every
// reader of a rig's kit gets it from here: the file only says how they began.
func (r *Request) fleet(ctx context.Context) (kit.Fleet, error) {
	fleet, err := fold(ctx, r, kitMovedKind, func(entries []bot.Entry) (kit.Fleet, error) {
		moves, err := bodies[kit.Move](entries)
		return kit.NewFleet(r.Department.Kits, moves), err
	})
	if err != nil {
		return kit.Fleet{}, err
	}
	sealed, err := fold(ctx, r, kitSealedKind, bodies[kit.Sealing])
	if err != nil {
		return kit.Fleet{}, err
	}
	packed, err := fold(ctx, r, kitPackedKind, bodies[kit.Packing])
	if err != nil {
		return kit.Fleet{}, err
	}
	return fleet.With(sealed, packed), nil
}

// openNow are the open lines, each with the rig that carries its kit now: what is
// packed, listed and asked for follows the kit. A kit on no rig keeps the rig that
// reported.
func (r *Request) openNow(ctx context.Context) ([]kit.Line, error) {
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return nil, fmt.Errorf("read open lines: %w", err)
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return nil, err
	}
	for i, l := range open {
		if k, ok := fleet.Kit(l.Kit); ok && k.Place.Kind == kit.OnUnit {
			open[i].Unit = k.Place.At
		}
	}
	return open, nil
}

// kitOn is the kit that a rig carries. A *bot.UserError asks for the rig when
// none is known, says that it carries none, or asks which of two.
func (r *Request) kitOn(ctx context.Context, unit string) (kit.Kit, error) {
	if unit == "" {
		return kit.Kit{}, &bot.UserError{Say: r.question(understand.Question{About: understand.AskUnit}).Text}
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return kit.Kit{}, err
	}
	on := fleet.On(unit)
	named := slices.IndexFunc(on, func(k kit.Kit) bool { return k.ID == r.kitNamed() })
	switch {
	case len(on) == 0:
		return kit.Kit{}, bot.SayNoKit.With(r.unitName(unit))
	case named >= 0:
		return on[named], nil
	case len(on) > 1:
		return kit.Kit{}, bot.SayTwoKits.With(r.unitName(unit), list(kitIDs(on), "and"), on[len(on)-1].ID)
	}
	return on[0], nil
}

// firstKitOn is a rig's own kit for what cannot ask: ok is false when it has
// none. A kit that rides along comes after the rig's own.
func (r *Request) firstKitOn(ctx context.Context, unit string) (k kit.Kit, ok bool, err error) {
	fleet, err := r.fleet(ctx)
	if err != nil {
		return kit.Kit{}, false, err
	}
	on := fleet.On(unit)
	if len(on) == 0 {
		return kit.Kit{}, false, nil
	}
	if own, has := r.Department.KitOf(unit); has {
		if i := slices.IndexFunc(on, func(k kit.Kit) bool { return k.ID == own.ID }); i >= 0 {
			return on[i], true, nil
		}
	}
	return on[0], true, nil
}

// unitsWithKit lists the rigs that carry a kit now, in the file's order.
func (r *Request) unitsWithKit(fleet kit.Fleet) []department.Unit {
	return slices.DeleteFunc(slices.Clone(r.Department.Units), func(u department.Unit) bool { return len(fleet.On(u.ID)) == 0 })
}

func kitIDs(kits []kit.Kit) []string {
	ids := make([]string, len(kits))
	for i, k := range kits {
		ids[i] = k.ID
	}
	return ids
}

// kitWords finds a kit's number where a crew says it: "kit 7", "k07".
var kitWords = regexp.MustCompile(`(?i)\b(?:kit\s+k?|k)0*(\d{1,4})\b`)

// kitNamed is the id of the kit that the message names by number, empty for
// none that the department has.
func (r *Request) kitNamed() string {
	said := kitWords.FindStringSubmatch(r.Event.Text)
	if said == nil {
		return ""
	}
	for _, k := range r.Department.Kits {
		if of := kitWords.FindStringSubmatch(k.ID); of != nil && sameNumber(of[1], said[1]) {
			return k.ID
		}
	}
	return ""
}

func sameNumber(a, b string) bool {
	x, errX := strconv.Atoi(a)
	y, errY := strconv.Atoi(b)
	return errX == nil && errY == nil && x == y
}
