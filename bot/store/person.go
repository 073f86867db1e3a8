package store

import (
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Person is one member of a department, with what else they go by.
type Person struct {
	Department string
	Member     string            // id
	Name       string            // as it stands in texts; may be empty
	Accounts   map[string]string // by platform
}

// Held is what one table holds of a person: its rows as they are read by people.
type Held struct {
	Table string
	Rows  []map[string]any // by column
}

// clause is a condition with its arguments. The first is the department.
type clause struct{ args []any }

func newClause(p Person) *clause { return &clause{[]any{p.Department}} }

// arg adds an argument and gives its mark.
func (c *clause) arg(value any) string {
	c.args = append(c.args, value)
	return fmt.Sprintf("$%d", len(c.args))
}

// is says that one of the columns is the value.
func (c *clause) is(value string, columns ...string) string {
	mark := c.arg(value)
	var all []string
	for _, column := range columns {
		all = append(all, column+" = "+mark)
	}
	return strings.Join(all, " OR ")
}

// has says that a column's text contains one of these, letter for letter.
func (c *clause) has(column string, texts ...string) string {
	var all []string
	for _, text := range texts {
		all = append(all, fmt.Sprintf("replace(%s, %s, '') <> %[1]s", column, c.arg(text)))
	}
	return strings.Join(all, " OR ")
}

// ends says that a column's text ends so.
func (c *clause) ends(column, text string) string {
	mark := c.arg(text)
	return fmt.Sprintf("substr(%s, length(%[1]s) - length(%s) + 1) = %[2]s", column, mark)
}

// quoted are the person's ids as they stand in JSON.
func (p Person) quoted() []string {
	all := []string{`"` + p.Member + `"`}
	for _, id := range p.ids()[1:] {
		all = append(all, `"`+id+`"`)
	}
	return all
}

// ids are the member's id and those of their accounts, in order.
func (p Person) ids() []string {
	all := []string{p.Member}
	for platform, id := range p.Accounts {
		all = append(all, id, platform+":"+id)
	}
	slices.Sort(all[1:])
	return all
}

// mentions are the ids in JSON, and the name.
func (p Person) mentions() []string {
	if p.Name == "" {
		return p.quoted()
	}
	return append(p.quoted(), p.Name)
}

// spoke is the condition of an event that came from the person.
func (p Person) spoke(c *clause) string {
	any := []string{c.has("speaker", `"member":"`+p.Member+`"`)}
	for platform, id := range p.Accounts {
		any = append(any, "platform = "+c.arg(platform)+" AND ("+c.has("speaker", `"id":"`+id+`"`)+")")
	}
	return strings.Join(any, " OR ")
}

// talked is the condition of a conversation with the person, or about them.
func (p Person) talked(c *clause) string {
	any := []string{c.has("state", p.mentions()...)}
	for _, id := range p.ids() {
		any = append(any, c.ends("key", "/@"+id))
	}
	return strings.Join(any, " OR ")
}

// sentTo is the condition of a message for the person alone.
func (p Person) sentTo(c *clause) string {
	var any []string
	for _, id := range p.ids() {
		any = append(any, c.has("message", `"person":"`+id+`"`), c.ends("lane", "/@"+id))
	}
	return strings.Join(any, " OR ")
}

// audited is the condition of an audit row about the person.
func (p Person) audited(c *clause) string {
	var any []string
	for _, id := range p.ids() {
		any = append(any, c.is(id, "subject"), c.ends("subject", ":"+id), c.ends("subject", "/"+id))
	}
	return strings.Join(any, " OR ")
}

// entered is the condition of a journal entry by the person, or about them.
func (p Person) entered(c *clause) string {
	any := []string{c.has("body", p.mentions()...)}
	for _, id := range p.ids() {
		any = append(any, c.is(id, "person", "subject"))
	}
	return strings.Join(any, " OR ")
}

// held are the tables with their conditions, in the order in which they are told.
func (p Person) held() []struct {
	table string
	where func(*clause) string
} {
	return []struct {
		table string
		where func(*clause) string
	}{
		{"inbox", p.spoke},
		{"outbox", func(c *clause) string { return p.sentTo(c) + " OR " + c.has("message", p.mentions()...) }},
		{"talks", p.talked},
		{"lines", func(c *clause) string { return c.is(p.Member, "member", "fetcher") }},
		{"line_steps", func(c *clause) string { return c.is(p.Member, "member", "fetcher", "actor") }},
		{"journal", p.entered},
		{"photos", func(c *clause) string { return c.is(p.Member, "member") }},
		{"audit", func(c *clause) string { return c.is(p.Member, "actor") + " OR " + p.audited(c) }},
		{"audit_text", func(c *clause) string {
			return "seq IN (SELECT seq FROM audit WHERE department = $1 AND (" + c.is(p.Member, "actor") + " OR " + p.audited(c) + ")) OR " +
				c.has("old_text", p.mentions()...) + " OR " + c.has("new_text", p.mentions()...)
		}},
	}
}

// HeldOf gives everything that is stored of a person, by table. Words of others that
// speak of them without their name or id nobody can find.
func (db *DB) HeldOf(ctx context.Context, p Person) ([]Held, error) {
	var all []Held
	for _, t := range p.held() {
		c := newClause(p)
		query := "SELECT * FROM " + t.table + " WHERE department = $1 AND (" + t.where(c) + ")"
		rows, err := db.reads.db.QueryContext(ctx, query, c.args...)
		held, err := readable(rows, err)
		if err != nil {
			return nil, fmt.Errorf("read %s of a person: %w", t.table, err)
		}
		all = append(all, Held{t.table, held})
	}
	return all, nil
}

// readable reads rows for people: moments as dates, JSON as what it holds.
func readable(rows *sql.Rows, err error) ([]map[string]any, error) {
	all := []map[string]any{}
	if err != nil {
		return nil, translate(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		names, values, err := scanStored(rows, columns)
		if err != nil {
			return nil, err
		}
		row := make(map[string]any)
		for i, name := range names {
			row[name] = readableValue(name, values[i])
		}
		all = append(all, row)
	}
	return all, translate(rows.Err())
}

func readableValue(column string, value any) any {
	switch v := value.(type) {
	case int64:
		if column == "at" || column == "fetch_by" || column == "not_before" || strings.HasSuffix(column, "_at") {
			if v == 0 {
				return nil
			}
			return moment(v).Format(time.RFC3339Nano)
		}
	case []byte:
		if column == "jpeg" {
			return base64.StdEncoding.EncodeToString(v)
		}
		return hex.EncodeToString(v)
	case string:
		if len(v) > 0 && (v[0] == '{' || v[0] == '[') && json.Valid([]byte(v)) {
			return json.RawMessage(v)
		}
	}
	return value
}
