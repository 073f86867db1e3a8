package department

import (
	"time"

	"kitbell/bot/kit"
	"kitbell/schedule"
)

// Department is one department's file, read and checked. It is never changed
// after loading; a reload makes a new one.
type Department struct {
	Slug     string // never changed once used: every stored row carries it
	Name     string
	Zone     *time.Location
	Hours    Hours
	Stations []Station
	Units    []Unit
	Items    []Item // items of the department's own that have no tool card
	Lists    []kit.List
	Kits     []kit.Kit
	Members  []Member
	Channels []Channel
	Rotation schedule.Rotation
	Entries  []schedule.Entry
	Forbids  []string // technique ids that the department does not allow
}

// Hours are the department's hours as local time after midnight.
type Hours struct {
	QuietFrom, QuietTo     time.Duration // no unsolicited post in between
	MorningFrom, MorningTo time.Duration // when bundles are posted
}

// Station is a fire station.
type Station struct {
	ID   string // station-4
	Name string // 4 Orchard Hill
}

// Unit is a rig or a boat. One without a kit is known by name so that a report
// about it can be answered.
type Unit struct {
	ID      string   // engine-4
	Name    string   // Engine 4
	Aliases []string // what crews write besides the usual short forms
	Station string   // station id
	Reserve bool
}

// Item is something in the kit that has no tool card of its own.
type Item struct {
	ID      string
	Name    string
	Aliases []string
}

// Role says what a member may do. Roles are ordered: each may do what those
// before it may.
type Role string

// The roles.
const (
	Guest         Role = "guest" // may report, gets no technique text
	Crew          Role = "member"
	Officer       Role = "officer"
	Quartermaster Role = "quartermaster"
	Training      Role = "training" // chief of training
	Lead          Role = "lead"     // of the kit programme
)

// Member is a person of the department.
type Member struct {
	ID       string // ines-okafor
	Name     string
	Rank     string
	Roles    []Role
	Unit     string            // unit they usually ride
	Platoon  string            // empty for day staff
	Status   string            // "", leave, light-duty
	Accounts map[string]string // platform → user id there
}

// Has says whether the member holds the role.
func (m Member) Has(role Role) bool {
	for _, r := range m.Roles {
		if r == role {
			return true
		}
	}
	return false
}

// ChannelUse says what a channel is for.
type ChannelUse string

// The uses of a channel.
const (
	StationChannel   ChannelUse = "station"
	ProgrammeChannel ChannelUse = "programme"
	OfficersChannel  ChannelUse = "officers"
)

// Channel is where the department talks on one platform.
type Channel struct {
	Platform  string
	Workspace string
	ID        string // the platform's id; on the terminal a name
	Use       ChannelUse
	Station   string // station id, for a station's channel
	Listen    bool   // act on plain sentences, not only on mentions
}
