package schedule

import (
	"fmt"
	"time"

	"kitbell/bot"
)

// Fell is the change that records a thing as due. The store adds the row; when
// the row for the same entry, unit and wall time is there already, it does
// nothing and that is no error. It implements bot.Change.
type Fell struct{ Due Due }

// Record is the audit's view.
func (f Fell) Record() bot.Record {
	return bot.Record{Verb: "due-fell", Subject: f.Due.subject(), New: fmt.Sprintf("%s %s", f.Due.Kind, f.Due.Topic)}
}

// Carried is the change that marks waiting things as carried by one bundle. The
// store sets Bundle on the rows of Dues (by ID) where it is still empty; a row
// that another bundle carried meanwhile is bot.ErrConflict. It implements
// bot.Change.
type Carried struct {
	Dues   []Due
	Bundle string // key of the bundle, which is also its outbox key
	At     time.Time
}

// Record is the audit's view.
func (c Carried) Record() bot.Record {
	ids := make([]int64, len(c.Dues))
	for i, d := range c.Dues {
		ids[i] = d.ID
	}
	return bot.Record{Verb: "due-carried", Subject: "bundle:" + c.Bundle, New: fmt.Sprint(ids)}
}

// Advanced is the change that moves an entry's cursor from Old to New. The
// store replaces the row; Old is the zero Cursor when there was none. A stored
// row that differs from Old is bot.ErrConflict: somebody else advanced it. New
// is the zero Cursor when the entry left the department file: the row goes. It
// implements bot.Change.
type Advanced struct{ Old, New Cursor }

// Record is the audit's view.
func (a Advanced) Record() bot.Record {
	return bot.Record{Verb: "entry-advanced", Subject: "entry:" + a.entry(), Old: a.Old.text(), New: a.New.text()}
}

func (a Advanced) entry() string {
	if a.New.Entry != "" {
		return a.New.Entry
	}
	return a.Old.Entry
}

func (c Cursor) text() string {
	if c.Entry == "" {
		return ""
	}
	return fmt.Sprintf("%s in %s, next %s", c.Spec, c.Zone, c.Next.UTC().Format(time.RFC3339))
}

func (d Due) subject() string {
	return fmt.Sprintf("due:%s/%s/%s", d.Entry, d.Unit, d.Wall)
}
