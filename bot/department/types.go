package department

import (
	"time"

	"kitbell/bot/kit"
	"kitbell/schedule"
)

// Department is one department's file, read and checked. It is never changed
// after loading; a reload makes a new one.
type Department struct {
	Slug        string // never changed once used: every stored row carries it
	Name        string
	Zone        *time.Location
	Currency    string // ISO 4217 code of every price
	Hours       Hours
	Rotation    schedule.Rotation
	Stations    []Station
	Units       []Unit
	Items       []Item // everything that a kit list may name
	Lists       []kit.List
	InForce     int      // version of the list that kits are to be packed to
	OnEvery     []string // tool card ids of what every rig carries outside the kit
	Kits        []kit.Kit
	Members     []Member
	Channels    []Channel
	Servers     map[string]string // platform → base URL of its API, where it is not the platform's own
	Entries     []schedule.Entry
	Forbids     []string      // technique ids that the department does not allow
	TaskBook    []Skill       // in the order of the file
	Evaluators  []Evaluator   // who may sign it
	HoursTarget time.Duration // of training, a year and member; 0 for none
	Targets     []DrillTarget // of hands-on drills, where the department wants other ones than the cards
	MustKnow    []string      // technique ids that every crew drills once a quarter; empty for those with a hands-on drill
	Calls       []CallCount
	Budget      Budget
	Looks       kit.Looks         // how often a kit's lines are looked at
	Holidays    schedule.Holidays // on which no post goes out that can wait
	Limits      kit.Limits        // days that a queue line may stay in a state
	Retention   Retention         // how long is kept what need not stay
}

// Hours are the department's hours, as local time.
type Hours struct {
	Quiet   schedule.Span // no unsolicited post in between
	Morning schedule.Span // when bundles are posted
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
	Type    string   // engine: the id without its number
	Number  int      // 4; 0 when the unit has none
	Aliases []string // what crews write besides the usual short forms
	Station string   // station id
	Reserve bool
	Sold    bool // it is no longer the department's, and stands in the file for its past
}

// Item is something that a kit list may name: a tool card's id, or the
// department's own id, which then has a Name.
type Item struct {
	ID         string
	Name       string // empty for a tool card's item: the card has it
	Aliases    []string
	Consumable bool   // used up in normal work
	Cents      int64  // price each in cents of Currency
	Priced     bool   // the file gives a price
	Life       int    // years of service after which it is replaced; 0 for none
	Source     string // where the price is from
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

// Roles lists the roles in their order.
func Roles() []Role { return []Role{Guest, Crew, Officer, Quartermaster, Training, Lead} }

// Status says whether a member works as usual.
type Status string

// What a member's status can be. Nobody on leave is ever written to.
const (
	Working   Status = ""
	OnLeave   Status = "leave"
	OnDetail  Status = "detail" // works elsewhere for a while
	LightDuty Status = "light-duty"
)

// Member is a person of the department.
type Member struct {
	ID        string // ines-okafor
	Name      string
	Rank      string
	Roles     []Role // member when the file names none
	Unit      string // unit they usually ride; empty for day staff
	Platoon   string // empty for day staff
	Status    Status
	Acting    bool              // holds the officer's role for now, above their own rank
	Probation bool              // in their first year
	Accounts  map[string]string // platform → user id there
}

// Skill is one line of the department's task book.
type Skill struct {
	ID, Title string
	NoDoor    bool // it is not shown at a door
}

// DrillTarget is what a drill's task is to be done within. Zero is not measured.
type DrillTarget struct {
	Drill          string // id of the drill's card
	Minutes, Tries int
}

// Evaluator may sign skills of the task book; with none named, all.
type Evaluator struct {
	Member string
	Skills []string
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
	Platform  string // the adapter's name
	Workspace string // Slack workspace or Discord guild; empty on the terminal
	ID        string // the platform's id; on the terminal a name
	Use       ChannelUse
	Station   string // station id, for a station's channel
	Listen    bool   // act on plain sentences, not only on mentions
}

// CallCount is how often a year the department has a kind of call with an entry.
type CallCount struct {
	Call string // card id of the call, such as lift-assist
	Year int
}

// Budget is what the yearly request reckons with. Rates are fractions: 0.06 is
// six percent.
type Budget struct {
	YearStarts  Day // first day of the fiscal year
	WishesClose Day // last day on which a wish counts for the next year
	Tax         float64
	Shipping    float64 // of the price of the goods
	Escalation  float64 // rise of prices in a year
	LeadDays    int     // from order to delivery
	Protection  float64 // chance that a spare is there when one is needed
}

// Day is a day of every year.
type Day struct {
	Month time.Month
	Day   int
}
