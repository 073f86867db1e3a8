package bot

import "time"

// EventKind says what a person did.
type EventKind string

// What a person can do that kitbell hears of.
const (
	Said      EventKind = "said"      // typed a message
	Pressed   EventKind = "pressed"   // pressed a button
	Submitted EventKind = "submitted" // sent a form
	Edited    EventKind = "edited"    // changed a message of theirs; Text is the new one
	Deleted   EventKind = "deleted"   // took a message of theirs away
	Reacted   EventKind = "reacted"   // put a mark on a message; Text is the mark's name
	Shared    EventKind = "shared"    // sent files and no words
	Opened    EventKind = "opened"    // opened the bot's own page
)

// HomeChannel stands in an address for the page that a platform keeps for one
// person and the bot, where it has one. What is sent there takes the place of
// what the page showed.
const HomeChannel = "home"

// Speaker is who did it, as the platform knows them. Member is filled when the
// adapter already knows the department's member id (the terminal does); else
// the department file maps the platform's id to a member.
type Speaker struct {
	ID      string `json:"id"`
	Name    string `json:"name,omitempty"`
	Member  string `json:"member,omitempty"`
	Unit    string `json:"unit,omitempty"`    // unit the speaker says to ride, where the platform carries it
	Platoon string `json:"platoon,omitempty"` // likewise
}

// Key is what a conversation knows the speaker by.
func (s Speaker) Key() string {
	if s.Member != "" {
		return s.Member
	}
	return s.ID
}

// Event is one thing a person did on a platform, as an adapter hands it on.
type Event struct {
	ID         string            `json:"id"`         // the platform's id; the same id again is the same event
	Department string            `json:"department"` // department slug
	Kind       EventKind         `json:"kind"`
	At         time.Time         `json:"at"`
	From       Speaker           `json:"from"`
	Where      Address           `json:"where"`
	Direct     bool              `json:"direct,omitempty"` // said to the bot itself: a mention, a direct message, a terminal
	Text       string            `json:"text,omitempty"`   // Said
	Press      string            `json:"press,omitempty"`  // Pressed: the button's value, verb:ref
	Form       string            `json:"form,omitempty"`   // Submitted: the form's id
	Values     map[string]string `json:"values,omitempty"`
	About      string            `json:"about,omitempty"`   // Edited, Deleted: id of the event by which the message was said
	On         string            `json:"on,omitempty"`      // the platform's id of the message that was said, pressed or marked; a thread can hang below it
	Files      []File            `json:"files,omitempty"`   // what came with the message
	Outside    bool              `json:"outside,omitempty"` // people of other organisations read along, or the speaker is of one
}

// editMark stands between the id of what was said and that of one wording of it.
const editMark = "/edited/"

// EditID is the id of the event by which a message was changed. about is the
// event by which it was said, when tells one change from the next.
func EditID(about, when string) string { return about + editMark + when }

// EditIDs are the bounds between which all ids lie that EditID makes of about:
// from is below them, to above.
func EditIDs(about string) (from, to string) {
	return about + editMark, about + editMark[:len(editMark)-1] + string(editMark[len(editMark)-1]+1)
}

// FileKind says what a file is to a person.
type FileKind string

// The kinds of files that kitbell tells apart.
const (
	PictureFile FileKind = "picture"
	VoiceFile   FileKind = "voice"
	OtherFile   FileKind = "other"
)

// File is a file on a platform, not its content.
type File struct {
	ID   string   `json:"id"` // what the platform's adapter needs to fetch it; never a link that a person typed
	Kind FileKind `json:"kind"`
	Size int64    `json:"size,omitempty"` // bytes, as the platform says
}

// Conversation is the key of the conversation that the event belongs to.
func (e Event) Conversation() string { return e.Where.Key(e.From.Key()) }
