package kit

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	"kitbell/bot"
)

// Photo is a picture that was kept with a line: a tool, and no person, mail or
// house number, as the one who kept it promised.
type Photo struct {
	Name string // unique in the department
	Line int    // number of the line that it goes with
	By   string // member who kept it
	At   time.Time
	JPEG []byte
}

// NamePhoto makes the name of a file that came with an event. The same file
// makes the same name, so that a picture kept twice is kept once.
func NamePhoto(event, file string) string {
	sum := sha256.Sum256([]byte(event + "\x00" + file))
	return hex.EncodeToString(sum[:8])
}

// PhotoKept is the change that keeps a picture. One whose name is there already
// changes nothing.
type PhotoKept struct{ Photo Photo }

// Record is the audit's view: the picture's digest stands for it.
func (k PhotoKept) Record() bot.Record {
	return bot.Record{Verb: "photo-kept", Subject: fmt.Sprintf("line:%d", k.Photo.Line), New: k.Photo.Name + " " + digest(k.Photo.JPEG)}
}

// PhotoDropped is the change that takes a picture off the disk. One that is gone
// changes nothing.
type PhotoDropped struct {
	Name string
	Line int
}

// Record is the audit's view.
func (d PhotoDropped) Record() bot.Record {
	return bot.Record{Verb: "photo-dropped", Subject: fmt.Sprintf("line:%d", d.Line), Old: d.Name}
}

func digest(raw []byte) string {
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}
