package command

import (
	"context"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// Desk is what the bot knows of one department between two loads of its file:
// the file, how to read its crews' words, its cards and its doors.
type Desk struct {
	Department *department.Department
	Reader     Reader
	Cards      Cards
	Doors      Doors

	// AdoptsAll counts every card as adopted, whatever the journal says: for
	// the demo and for measuring.
	AdoptsAll bool
	// Mix is the mix of doors that the door model's worths are of; drills take
	// their doors from it.
	Mix []door.MixedDoor
}

// Reader turns words into meaning; in memory, any goroutine.
type Reader interface {
	Read(text string, c understand.Context) understand.Reading
}

// Who is the person that a request comes from.
type Who struct {
	Person  string            // member id, or platform:id for one the file does not know
	Member  department.Member // zero when unknown to the file
	Unit    string            // rig they ride now, empty when nobody knows
	Platoon string
	Acting  []department.Role // held for now, beside those of the file
}

// Request is one event, understood, with all that a command needs to answer it.
type Request struct {
	*Desk
	Event   bot.Event
	Now     time.Time
	Who     Who
	Reading understand.Reading
	Verb    string  // of the button, when one was pressed
	Ref     string  // of the button
	Memory  *Memory // what this conversation remembers; commands may change it
	Books   Books

	photos       Photos // nil where none can be kept
	conversation string // key that Memory is kept under

	folds *folds // shared by all requests; nil keeps nothing
	hits  func() knowledge.Found
	facts func() door.Facts
	plan  func() (door.Plan, error)
	crew  func() (*Running, error) // the door that the crew works on, nil for none

	amended   string            // what an edit has taken back of the first wording, in words
	form      sentForm          // the form that was sent; its id is empty when words were typed
	follows   bool              // the message was read as a follow-up of the last answer
	lost      bool              // it leans on something that nobody knows
	supposed  string            // what stands above an answer to a supposed case
	cleared   []door.Fact       // facts that this press takes back
	unsure    []door.Fact       // facts that this press could not tell
	takenBack bool              // nobody is in danger any more at this door
	joined    bool              // the speaker has just joined the crew's door
	absent    []string          // tools that a complete kit would have tried first at this door, and this one lacks
	elsewhere map[string]string // rigs whose kit has a tool that the plan lacks
	placed    kit.Fleet         // where the kits are, for a stop-use that goes to each
	share     *Running          // the door as the crew shall have it, nil for no news
}

// As is the same desk for a department under another slug: its rows are apart
// from every other department's in one store.
func (d *Desk) As(slug string) *Desk {
	desk, dept := *d, *d.Department
	dept.Slug = slug
	desk.Department = &dept
	return &desk
}

// Hits searches the cards for the message, once, whoever asks first.
func (r *Request) Hits() knowledge.Found { return r.hits() }

// DoorFacts is the door as it is known after this message.
func (r *Request) DoorFacts() door.Facts { return r.facts() }

// Plan plans the door of the message, once, whoever asks first.
func (r *Request) Plan() (door.Plan, error) { return r.plan() }

func (r *Request) prepare(ctx context.Context) {
	r.hits = sync.OnceValue(func() knowledge.Found {
		if r.Reading.Asked != "" {
			return r.Cards.Search(r.Reading.Asked)
		}
		return r.Cards.Search(r.Event.Text)
	})
	r.facts = sync.OnceValue(r.knownFacts)
	r.plan = sync.OnceValues(func() (door.Plan, error) { return r.planDoor(ctx) })
}
