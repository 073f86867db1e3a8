package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"kitbell/bot"
)

// upkeep begins each statement that goes through all that a department has, at night
// or by hand. It tells them from those that a message waits for, of which none may.
const upkeep = "/* upkeep */ "

// Sweep is something to be removed from a department's rows once it is old.
type Sweep struct {
	Of     SweepOf
	Kind   string    // SweepEntries: the journal's
	Before time.Time // what is from earlier goes
}

// SweepOf names what can be removed.
type SweepOf string

// What can be removed. Rows that something is counted from keep their counts.
const (
	SweepEvents     SweepOf = "events"      // rows of handled and failed events
	SweepPosts      SweepOf = "posts"       // words of messages that were sent or given up; key and reference stay
	SweepLineNotes  SweepOf = "line-notes"  // words beside the steps of closed lines
	SweepEntryNotes SweepOf = "entry-notes" // what journal entries have under "note", in any spelling
	SweepPhotos     SweepOf = "photos"      // of closed lines
	SweepAuditTexts SweepOf = "audit-texts" // the texts beside the audit, and their salts
	SweepEntries    SweepOf = "entries"     // journal entries of a kind
	SweepWithdrawn  SweepOf = "withdrawn"   // journal entries that were taken back
)

// SweepBatch is the most rows that one Expire touches.
const SweepBatch = 200

// sweep is a Sweep's statements: pick selects the rows by department, moment and,
// where there is one, kind. Each of do works on what it picks, up to a batch; the
// last one counts.
type sweep struct {
	pick string
	do   []string
}

// A row with the highest id stays: a database may give that id again.
func sweeps() map[SweepOf]sweep {
	return map[SweepOf]sweep{
		SweepEvents: {`SELECT id FROM inbox WHERE department = $1 AND state <> 'new' AND done_at < $2 AND id < (SELECT max(id) FROM inbox)`,
			[]string{`DELETE FROM inbox WHERE id IN ({picked})`}},
		SweepPosts: {`SELECT id FROM outbox WHERE department = $1 AND is_open = 0 AND changed_at < $2 AND message <> ''`,
			[]string{`UPDATE outbox SET message = '', last_error = '' WHERE id IN ({picked})`}},
		SweepLineNotes: {`SELECT DISTINCT s.number FROM line_steps s JOIN lines l ON l.department = s.department AND l.number = s.number
WHERE s.department = $1 AND s.note <> '' AND l.is_open = 0 AND l.changed_at < $2`,
			[]string{`UPDATE lines SET note = '' WHERE department = $1 AND number IN ({picked})`,
				`UPDATE line_steps SET note = '' WHERE department = $1 AND note <> '' AND number IN ({picked})`}},
		SweepPhotos: {`SELECT p.name FROM photos p LEFT JOIN lines l ON l.department = p.department AND l.number = p.line
WHERE p.department = $1 AND coalesce(l.is_open, 0) = 0 AND coalesce(l.changed_at, p.at) < $2 AND p.at < $2`,
			[]string{`DELETE FROM photos WHERE department = $1 AND name IN ({picked})`}},
		SweepAuditTexts: {`SELECT x.seq FROM audit_text x JOIN audit a ON a.department = x.department AND a.seq = x.seq
WHERE x.department = $1 AND x.blanked_at = 0 AND a.at < $2`,
			[]string{`UPDATE audit_text SET salt = {nothing}, old_text = '', new_text = '', blanked_at = {now} WHERE department = $1 AND seq IN ({picked})`}},
		SweepEntries: {`SELECT id FROM journal WHERE department = $1 AND at < $2 AND kind = $3 AND id < (SELECT max(id) FROM journal)`,
			[]string{`DELETE FROM journal WHERE id IN ({picked})`}},
		SweepWithdrawn: {`SELECT id FROM journal WHERE department = $1 AND withdrawn_at > 0 AND withdrawn_at < $2 AND id < (SELECT max(id) FROM journal)`,
			[]string{`DELETE FROM journal WHERE id IN ({picked})`}},
		SweepEntryNotes: {`SELECT id FROM journal WHERE department = $1 AND at < $2 AND lower(body) LIKE '%"note":%'`, nil}, // see noteless
	}
}

func (s Sweep) args(department string) []any {
	args := []any{department, nanos(s.Before)}
	if s.Of == SweepEntries {
		args = append(args, s.Kind)
	}
	return args
}

// name is what the audit calls it.
func (s Sweep) name() string {
	if s.Of == SweepEntries {
		return s.Kind
	}
	return string(s.Of)
}

// Expired counts what Expire would remove: rows, or for SweepLineNotes lines.
func (db *DB) Expired(ctx context.Context, department string, s Sweep) (n int64, err error) {
	query := "SELECT count(*) FROM (" + sweeps()[s.Of].pick + ") AS picked"
	if _, err := db.reads.row(ctx, upkeep+query, s.args(department), &n); err != nil {
		return 0, fmt.Errorf("count old %s: %w", s.name(), err)
	}
	return n, nil
}

// Expire removes a batch of what is old, in one transaction with an audit row that
// says how much went. It gives how many rows it removed: none when nothing is left to
// remove. Any goroutine; blocks for the disk.
func (db *DB) Expire(ctx context.Context, department string, s Sweep) (removed int64, err error) {
	remove := func(w *session) (int64, error) { return s.run(w, department, nanos(db.options.Clock.Now())) }
	if s.Of == SweepEntryNotes {
		if remove, err = db.noteless(ctx, department, s); err != nil {
			return 0, err
		}
	}
	turn := bot.Turn{Department: department, Actor: "retention", At: db.options.Clock.Now()}
	err = db.write(ctx, department, func(w *session) (err error) {
		if removed, err = remove(w); err != nil || removed == 0 {
			return err
		}
		// The count stands in the subject, which stays when texts are blanked.
		return appendAudit(w, turn, bot.Record{Verb: "expired", Subject: fmt.Sprintf("%s: %d from before %s", s.name(), removed, s.Before.UTC().Format(time.DateOnly))})
	})
	if err != nil {
		return 0, fmt.Errorf("remove old %s: %w", s.name(), err)
	}
	return removed, nil
}

// run does a sweep's statements on one batch.
func (s Sweep) run(w *session, department string, now int64) (removed int64, err error) {
	how := sweeps()[s.Of]
	for _, do := range how.do {
		args := s.args(department)
		do = strings.ReplaceAll(do, "{picked}", how.pick+fmt.Sprintf(" ORDER BY 1 LIMIT %d", SweepBatch))
		for mark, value := range map[string]any{"{nothing}": []byte{}, "{now}": now} {
			if strings.Contains(do, mark) {
				args = append(args, value)
				do = strings.Replace(do, mark, fmt.Sprintf("$%d", len(args)), 1)
			}
		}
		if removed, err = w.exec(upkeep+do, args...); err != nil {
			return 0, err
		}
	}
	return removed, nil
}

// noteless prepares the removal of notes from a batch of entries: what is in an
// entry's body only the program can read. An entry that changed meanwhile waits for
// the next batch.
func (db *DB) noteless(ctx context.Context, department string, s Sweep) (func(*session) (int64, error), error) {
	query := "SELECT id, body FROM journal WHERE id IN (" + sweeps()[s.Of].pick + fmt.Sprintf(" ORDER BY id LIMIT %d)", SweepBatch)
	type entry struct {
		id   int64
		body string
	}
	rows, err := db.reads.query(ctx, upkeep+query, s.args(department)...)
	entries, err := collect(rows, err, func(row rowScanner) (e entry, err error) { return e, row.Scan(&e.id, &e.body) })
	if err != nil {
		return nil, fmt.Errorf("read old notes: %w", err)
	}
	return func(w *session) (removed int64, err error) {
		for _, e := range entries {
			body, err := rewriteJSON(e.body, dropNotes)
			if err != nil {
				return 0, fmt.Errorf("read entry %d: %w", e.id, err)
			}
			n, err := w.exec(`UPDATE journal SET body = $3 WHERE id = $1 AND body = $2`, e.id, e.body, body)
			if err != nil {
				return 0, err
			}
			removed += n
		}
		return removed, nil
	}, nil
}

// dropNotes takes what is called a note out of every object.
func dropNotes(value any) any {
	switch v := value.(type) {
	case map[string]any:
		for key, one := range v {
			if strings.EqualFold(key, "note") {
				delete(v, key)
				continue
			}
			v[key] = dropNotes(one)
		}
	case []any:
		for i := range v {
			v[i] = dropNotes(v[i])
		}
	}
	return value
}

// rewriteJSON changes a JSON text as a value. Numbers stay as they are written.
func rewriteJSON(text string, change func(any) any) (string, error) {
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	var value any
	if err := d.Decode(&value); err != nil {
		return "", err
	}
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	if err := e.Encode(change(value)); err != nil {
		return "", err
	}
	return strings.TrimSuffix(out.String(), "\n"), nil
}
