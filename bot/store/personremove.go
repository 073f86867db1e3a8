package store

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
)

// Removal is how a person's data is removed. Kinds are the journal's.
type Removal struct {
	Person
	Gone   []string // kinds whose entries by the person, or about them, are deleted
	Signed []string // kinds that stay as they are, with the audit's texts of them
	Reason string
	Actor  string
}

// Removed is how many rows of a table were changed or deleted.
type Removed struct {
	Table string
	Rows  int64
}

// pseudonymKey names the setting with the secret that pseudonyms are made with.
const pseudonymKey = "pseudonym-key"

// personRemoved is the audit's word for it.
const personRemoved = "person-removed"

// RemovePerson removes what is stored of a person, or puts a pseudonym in the place
// of their id where something is counted from it; the pseudonym is the same whenever
// it is made. Their words go: notes, messages, conversations, and the texts beside the
// audit. Signed records stay, and so do the audit's rows, which are chained: they
// name the id of who acted. The audit says that it was done and why. All of it is one
// transaction. Called again it finds nothing and writes nothing. Nobody else may
// write meanwhile, so the store must not be Shared.
func (db *DB) RemovePerson(ctx context.Context, r Removal) ([]Removed, error) {
	if db.options.Shared {
		return nil, fmt.Errorf("remove person: others may write to the store")
	}
	entries, err := db.entriesOf(ctx, r.Person)
	if err != nil {
		return nil, fmt.Errorf("remove person: %w", err)
	}
	var all []Removed
	now := db.options.Clock.Now()
	err = db.write(ctx, r.Department, func(s *session) (err error) {
		all = nil
		as, err := pseudonym(s, r.Person)
		if err != nil {
			return err
		}
		w := removing{session: s, Removal: r, as: as, at: now}
		if err := w.everything(entries); err != nil || len(w.removed) == 0 {
			return err
		}
		all = w.removed
		turn := bot.Turn{Department: r.Department, Actor: r.Actor, At: now}
		return appendAudit(s, turn, bot.Record{Verb: personRemoved, Subject: "member:" + r.Member, New: r.Reason})
	})
	if err != nil {
		return nil, fmt.Errorf("remove person: %w", err)
	}
	return all, nil
}

// pseudonym is what a person is called from now on. Who has the store can tell whose
// it is by trying the ids that there are.
func pseudonym(s *session, p Person) (string, error) {
	var secret string
	ok, err := s.row(selectSetting, []any{p.Department, pseudonymKey}, &secret)
	if err != nil {
		return "", err
	}
	if !ok {
		raw := make([]byte, 32)
		rand.Read(raw) // never fails, as crypto/rand says
		secret = hex.EncodeToString(raw)
		if err := s.send(upsertSetting, p.Department, pseudonymKey, secret); err != nil {
			return "", err
		}
	}
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte(p.Member))
	return "former-" + hex.EncodeToString(mac.Sum(nil)[:5]), nil
}

// entryOf is a journal entry that has something of a person.
type entryOf struct {
	id                          int64
	kind, subject, person, body string
}

func (db *DB) entriesOf(ctx context.Context, p Person) ([]entryOf, error) {
	c := newClause(p)
	query := "SELECT id, kind, subject, person, body FROM journal WHERE department = $1 AND (" + p.entered(c) + ") ORDER BY id"
	rows, err := db.reads.db.QueryContext(ctx, query, c.args...)
	return collect(rows, err, func(row rowScanner) (e entryOf, err error) {
		return e, row.Scan(&e.id, &e.kind, &e.subject, &e.person, &e.body)
	})
}

// removing is a removal on its way, inside its transaction.
type removing struct {
	*session
	Removal
	as      string
	at      time.Time
	removed []Removed
}

// count notes how many rows a statement changed.
func (w *removing) count(table string, n int64, err error) error {
	if err != nil {
		return fmt.Errorf("in %s: %w", table, err)
	}
	if n == 0 {
		return nil
	}
	if i := slices.IndexFunc(w.removed, func(r Removed) bool { return r.Table == table }); i >= 0 {
		w.removed[i].Rows += n
		return nil
	}
	w.removed = append(w.removed, Removed{table, n})
	return nil
}

// change runs a statement whose condition a clause makes.
func (w *removing) change(table string, make func(*clause) string) error {
	c := newClause(w.Person)
	n, err := w.exec(upkeep+make(c), c.args...)
	return w.count(table, n, err)
}

func (w *removing) everything(entries []entryOf) error {
	for _, step := range []func() error{w.events, w.posts, w.talks, w.notes, w.names, func() error { return w.journal(entries) }, w.auditTexts} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// events keeps that they came, so that a second delivery is known.
func (w *removing) events() error {
	return w.change("inbox", func(c *clause) string {
		return "UPDATE inbox SET speaker = '{}', address = '{}', words = '', state = CASE WHEN state = 'new' THEN 'handled' ELSE state END WHERE department = $1 AND (" + w.spoke(c) + ")"
	})
}

// posts keeps the keys of what was sent, by which nothing is sent twice. What waits for
// the person is not sent; what waits for a channel goes out first.
func (w *removing) posts() error {
	return w.change("outbox", func(c *clause) string {
		own := w.sentTo(c)
		return "UPDATE outbox SET message = '', ref = CASE WHEN " + own + " THEN '' ELSE ref END, last_error = '', lane = CASE WHEN " + own + " THEN '' ELSE lane END, " +
			"state = CASE WHEN is_open = 1 THEN 'failed' ELSE state END " +
			"WHERE department = $1 AND (" + own + " OR is_open = 0 AND (" + c.has("message", w.mentions()...) + "))"
	})
}

func (w *removing) talks() error {
	return w.change("talks", func(c *clause) string {
		return "DELETE FROM talks WHERE department = $1 AND (" + w.talked(c) + ")"
	})
}

// notes takes the person's words from lines: those of their own steps, also where
// later steps carry them on.
func (w *removing) notes() error {
	for _, table := range []string{"lines", "line_steps"} {
		if err := w.change(table, func(c *clause) string {
			return "UPDATE " + table + " SET note = '' WHERE department = $1 AND note <> '' AND EXISTS (SELECT 1 FROM line_steps s " +
				"WHERE s.department = " + table + ".department AND s.number = " + table + ".number AND s.note = " + table + ".note AND " + c.is(w.Member, "s.actor") + ")"
		}); err != nil {
			return err
		}
	}
	return nil
}

// names puts the pseudonym in the place of the id.
func (w *removing) names() error {
	for _, column := range []struct{ table, name string }{
		{"lines", "member"}, {"lines", "fetcher"}, {"line_steps", "member"}, {"line_steps", "fetcher"}, {"line_steps", "actor"}, {"photos", "member"},
	} {
		if err := w.change(column.table, func(c *clause) string {
			return fmt.Sprintf("UPDATE %s SET %s = %s WHERE department = $1 AND %s", column.table, column.name, c.arg(w.as), c.is(w.Member, column.name))
		}); err != nil {
			return err
		}
	}
	return nil
}

func (w *removing) journal(entries []entryOf) error {
	for _, e := range entries {
		if slices.Contains(w.Signed, e.kind) {
			continue
		}
		if err := w.entry(e); err != nil {
			return err
		}
	}
	return nil
}

// entry deletes an entry, or renames the person in it and takes their words. An
// entry that nobody can be told of stays as a row: the database would give its number
// again were it the last.
func (w *removing) entry(e entryOf) error {
	ids := w.ids()
	theirs := slices.Contains(ids, e.person) || slices.Contains(ids, e.subject)
	if theirs && slices.Contains(w.Gone, e.kind) {
		n, err := w.exec(`DELETE FROM journal WHERE id = $1 AND id < (SELECT max(id) FROM journal)`, e.id)
		if err == nil && n == 0 {
			n, err = w.exec(`UPDATE journal SET person = '', subject = $2, body = '{}', withdrawn_at = at WHERE id = $1`, e.id, w.as)
		}
		return w.count("journal", n, err)
	}
	body, err := rewriteJSON(e.body, w.rename(slices.Contains(ids, e.person)))
	if err != nil {
		return fmt.Errorf("read entry %d: %w", e.id, err)
	}
	same, _ := rewriteJSON(e.body, func(value any) any { return value }) // it could be read just now
	if person, subject := w.renamed(e.person), w.renamed(e.subject); body == same && person == e.person && subject == e.subject {
		return nil // of somebody whose name has theirs in it
	}
	n, err := w.exec(`UPDATE journal SET person = $2, subject = $3, body = $4 WHERE id = $1`, e.id, w.renamed(e.person), w.renamed(e.subject), body)
	return w.count("journal", n, err)
}

// renamed is a text with the pseudonym where it is one of the person's ids or has
// their name in it.
func (w *removing) renamed(text string) string {
	if slices.Contains(w.ids(), text) {
		return w.as
	}
	if w.Name == "" {
		return text
	}
	return regexp.MustCompile(`\b`+regexp.QuoteMeta(w.Name)+`\b`).ReplaceAllLiteralString(text, w.as)
}

// rename renames the person in everything that a body holds; words takes their own
// notes and texts too.
func (w *removing) rename(words bool) func(any) any {
	var walk func(any) any
	walk = func(value any) any {
		switch v := value.(type) {
		case string:
			return w.renamed(v)
		case []any:
			for i := range v {
				v[i] = walk(v[i])
			}
		case map[string]any:
			named := make(map[string]any, len(v))
			for key, one := range v {
				if words && (strings.EqualFold(key, "note") || strings.EqualFold(key, "text")) {
					continue
				}
				named[w.renamed(key)] = walk(one)
			}
			return named
		}
		return value
	}
	return walk
}

// auditTexts removes the texts beside what the person did and beside what names
// them, but for signed records.
func (w *removing) auditTexts() error {
	return w.change("audit_text", func(c *clause) string {
		nothing, now, none := c.arg([]byte{}), c.arg(nanos(w.at)), ""
		for _, kind := range w.Signed {
			none += fmt.Sprintf(" AND verb <> %s AND verb <> %s", c.arg(kind+"-written"), c.arg(kind+"-withdrawn"))
		}
		return "UPDATE audit_text SET salt = " + nothing + ", old_text = '', new_text = '', blanked_at = " + now +
			" WHERE department = $1 AND blanked_at = 0 AND seq IN (SELECT seq FROM audit WHERE department = $1 AND verb <> " + c.arg(personRemoved) + none + ") AND (" +
			"seq IN (SELECT seq FROM audit WHERE department = $1 AND (" + c.is(w.Member, "actor") + " OR " + w.audited(c) + ")) OR " +
			c.has("old_text", w.mentions()...) + " OR " + c.has("new_text", w.mentions()...) + ")"
	})
}
