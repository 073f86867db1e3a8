package department

import (
	"slices"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// Unit finds a unit by its id.
func (d *Department) Unit(id string) (Unit, bool) {
	return find(d.Units, func(u Unit) bool { return u.ID == id })
}

// Station finds a station by its id.
func (d *Department) Station(id string) (Station, bool) {
	return find(d.Stations, func(s Station) bool { return s.ID == id })
}

// Item finds an item by its id.
func (d *Department) Item(id string) (Item, bool) {
	return find(d.Items, func(i Item) bool { return i.ID == id })
}

// Member finds a member by their id.
func (d *Department) Member(id string) (Member, bool) {
	return find(d.Members, func(m Member) bool { return m.ID == id })
}

// MemberByAccount finds the member whom a platform knows by the user id.
func (d *Department) MemberByAccount(platform, id string) (Member, bool) {
	return find(d.Members, func(m Member) bool { return id != "" && m.Accounts[platform] == id })
}

// MembersWith lists the members who hold a role, in the file's order.
func (d *Department) MembersWith(role Role) []Member {
	return filter(d.Members, func(m Member) bool { return m.Has(role) })
}

// UnitsAt lists a station's units in the file's order.
func (d *Department) UnitsAt(station string) []Unit {
	return filter(d.Units, func(u Unit) bool { return u.Station == station })
}

// ReserveUnits lists the reserve units.
func (d *Department) ReserveUnits() []Unit {
	return filter(d.Units, func(u Unit) bool { return u.Reserve })
}

// Kit finds a kit by its id.
func (d *Department) Kit(id string) (kit.Kit, bool) {
	return find(d.Kits, func(k kit.Kit) bool { return k.ID == id })
}

// KitOf finds the kit that a unit carries by the file. The database knows
// better once a kit has moved.
func (d *Department) KitOf(unit string) (kit.Kit, bool) {
	return find(d.Kits, func(k kit.Kit) bool { return k.Place == kit.Place{Kind: kit.OnUnit, At: unit} })
}

// KitUnits lists the units that carry a kit by the file, in the file's order.
func (d *Department) KitUnits() []Unit {
	return filter(d.Units, func(u Unit) bool { _, ok := d.KitOf(u.ID); return ok })
}

// List finds a version of the kit list.
func (d *Department) List(version int) (kit.List, bool) {
	return find(d.Lists, func(l kit.List) bool { return l.Version == version })
}

// ListOf finds the list that a kit is packed to.
func (d *Department) ListOf(k kit.Kit) (kit.List, bool) { return d.List(k.List) }

// Channel finds a platform's channel for a use; station is empty but for a
// station's channel.
func (d *Department) Channel(platform string, use ChannelUse, station string) (Channel, bool) {
	return find(d.Channels, func(c Channel) bool {
		return c.Platform == platform && c.Use == use && c.Station == station
	})
}

// ChannelAt finds the channel that an address lies in.
func (d *Department) ChannelAt(where bot.Address) (Channel, bool) {
	return find(d.Channels, func(c Channel) bool {
		return c.Platform == where.Platform && c.Workspace == where.Workspace && c.ID == where.Channel
	})
}

// Address is the channel as a place to post to.
func (c Channel) Address() bot.Address {
	return bot.Address{Platform: c.Platform, Workspace: c.Workspace, Channel: c.ID}
}

// Has says whether the member holds exactly the role.
func (m Member) Has(role Role) bool { return slices.Contains(m.Roles, role) }

// May says whether the member holds the role or one above it.
func (m Member) May(role Role) bool {
	need := slices.Index(Roles(), role)
	return slices.ContainsFunc(m.Roles, func(r Role) bool { return slices.Index(Roles(), r) >= need })
}

func find[T any](all []T, fits func(T) bool) (found T, ok bool) {
	for _, one := range all {
		if fits(one) {
			return one, true
		}
	}
	return found, false
}

func filter[T any](all []T, fits func(T) bool) []T {
	var some []T
	for _, one := range all {
		if fits(one) {
			some = append(some, one)
		}
	}
	return some
}
