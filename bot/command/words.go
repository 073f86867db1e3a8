package command

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// unitName is how the department writes a rig; an unknown id stays as it is.
func (r *Request) unitName(id string) string {
	if u, ok := r.Department.Unit(id); ok {
		return u.Name
	}
	return id
}

// itemName is an item's name in running text.
func (d *Desk) itemName(id string) string {
	if item, ok := d.Department.Item(id); ok && item.Name != "" {
		return item.Name
	}
	if c, ok := d.Cards.Card(id); ok {
		return lowerFirst(c.Title)
	}
	return strings.ReplaceAll(id, "-", " ")
}

func (d *Desk) stationNames() []string {
	names := make([]string, len(d.Department.Stations))
	for i, s := range d.Department.Stations {
		names[i] = s.Name
	}
	return names
}

// lineWords says a queue line in a few words: "2 wood wedges missing".
func (r *Request) lineWords(l kit.Line) string {
	name := r.itemName(l.Item)
	if l.Count > 1 {
		name = fmt.Sprintf("%d × %s", l.Count, name)
	}
	switch l.Condition {
	case kit.Wrong:
		return name + ": wrong one in its place"
	case kit.Extra:
		return name + ": one too many"
	case kit.Low:
		return name + " running low"
	}
	return name + " " + string(l.Condition)
}

// day says an instant's day with its weekday, and the time when it is near.
func (r *Request) day(t time.Time) string {
	local := t.In(r.Department.Zone)
	if r.Now.Sub(t).Abs() < 20*time.Hour {
		return local.Format("Mon 2 Jan 15:04")
	}
	return local.Format("Mon 2 Jan")
}

// dayAndYear is a day that may be years away.
func (r *Request) dayAndYear(t time.Time) string { return t.In(r.Department.Zone).Format("2 Jan 2006") }

func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// list joins words as a person would say them: a, b and c.
func list(words []string, last string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}

// groupBy puts what has the same key together, in the order in which the keys
// first come.
func groupBy[T any](all []T, key func(T) string) [][]T {
	at := make(map[string]int)
	var groups [][]T
	for _, one := range all {
		i, ok := at[key(one)]
		if !ok {
			i = len(groups)
			at[key(one)] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], one)
	}
	return groups
}

// decode reads an entry's body.
func decode[T any](e bot.Entry) (T, error) {
	var body T
	if err := json.Unmarshal(e.Body, &body); err != nil {
		return body, fmt.Errorf("read %s entry %d: %w", e.Kind, e.ID, err)
	}
	return body, nil
}

// bodies reads the bodies of entries, in their order.
func bodies[T any](entries []bot.Entry) ([]T, error) {
	all := make([]T, len(entries))
	for i, e := range entries {
		body, err := decode[T](e)
		if err != nil {
			return nil, err
		}
		all[i] = body
	}
	return all, nil
}
