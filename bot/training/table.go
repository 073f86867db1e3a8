package training

import (
	"fmt"
	"time"

	"kitbell/bot/sheet"
)

// RecordTable is the training records: for each session that an officer confirmed,
// the details as they were entered first, those of each correction, and then who
// took part with the hours that count. Names stand with what was done by hand; of
// other sessions a row gives a crew's head count. Whoever was struck is no part of
// the record and has no name in it. name says how a member is called on paper, then
// what the entry calls them; item how an item is.
func RecordTable(sessions []Session, zone *time.Location, name func(member, then string) string, item func(string) string) sheet.Table {
	records := sheet.Table{Name: "Records", Landscape: true, Columns: headed("session", "entry", "date", "start", "end", "place", "subject",
		"standard", "method", "instructor", "member", "members", "unit", "platoon", "result", "hours", "entered or confirmed by", "on", "reason")}
	earned := map[[2]string]time.Duration{}
	for _, c := range credits(Records(sessions)) {
		earned[[2]string{c.key, c.member}] = c.length
	}
	for _, s := range sessions {
		record, ok := s.Record()
		if !ok && (s.Cancelled == nil || s.Vouched == nil) {
			continue
		}
		t := table{zone: zone, name: name, item: item, number: s.Number, hours: func(member string) time.Duration { return earned[[2]string{s.Key, member}] }}
		rows := []sheet.Row{t.entered("first entry", s.First)}
		if s.Cancelled != nil { // it counted once, so it stays to be seen
			gone := *s.Cancelled
			gone.Details = s.Details()
			records.Rows = append(records.Rows, append(rows, t.entered("cancelled", gone))...)
			continue
		}
		for _, step := range s.Later[:s.vouchedFor] {
			switch step.What {
			case SessionCorrected:
				rows = append(rows, t.entered("correction", step))
			case SessionStruck:
				rows = append(rows, t.struck(record, step))
			}
		}
		rows = append(rows, t.used(s)...)
		records.Rows = append(append(records.Rows, rows...), t.attended(record)...)
	}
	return records
}

// headed is columns with these headings.
func headed(headings ...string) []sheet.Column {
	var columns []sheet.Column
	for _, h := range headings {
		columns = append(columns, sheet.Column{Heading: h})
	}
	return columns
}

// table lays out rows.
type table struct {
	zone   *time.Location
	name   func(member, then string) string
	item   func(string) string
	number int // of the session
	hours  func(member string) time.Duration
}

// row is the details of a session, as entered then, and what stands behind them.
func (t table) row(entry string, d Details, cells ...sheet.Cell) sheet.Row {
	details := []sheet.Cell{sheet.Whole(int64(t.number)), sheet.Text(entry), t.day(d.Start), t.clock(d.Start), t.clock(d.End), sheet.Text(d.Place),
		sheet.Text(d.Subject), sheet.Text(d.Standard), sheet.Text(string(d.Method)), sheet.Text(t.name(d.Instructor, ""))}
	return sheet.Row{Cells: append(details, cells...)}
}

func (t table) day(at time.Time) sheet.Cell   { return sheet.Date(at.In(t.zone)) }
func (t table) clock(at time.Time) sheet.Cell { return sheet.Text(at.In(t.zone).Format("15:04")) }

// entered is a row without anybody who took part.
func (t table) entered(entry string, s SessionStep) sheet.Row {
	var none sheet.Cell
	return t.row(entry, s.Details, none, none, none, none, none, none, sheet.Text(t.name(s.By, "")), t.day(s.At), sheet.Text(s.Reason))
}

func (t table) struck(r Record, s SessionStep) sheet.Row {
	var none sheet.Cell
	return t.row("struck", r.Details, none, sheet.Whole(1), none, none, none, none, sheet.Text(t.name(s.By, "")), t.day(s.At), sheet.Text(s.Reason))
}

// used are what the session used up, a row an item, the pieces in the place of the
// members.
func (t table) used(s Session) []sheet.Row {
	var rows []sheet.Row
	var none sheet.Cell
	pieces := s.Used()
	for _, item := range sortedKeys(pieces) {
		what := sheet.Text(fmt.Sprintf("used up: %d × %s", pieces[item], t.item(item)))
		rows = append(rows, t.row("used up", s.Details(), none, none, none, none, what, none))
	}
	return rows
}

// attended are the rows that count: a member each where they may be named, else a
// crew each.
func (t table) attended(r Record) []sheet.Row {
	var rows []sheet.Row
	var crews []Crew
	heads, sums := map[Crew]int{}, map[Crew]time.Duration{}
	for _, a := range r.Attended {
		if r.Method.ByHand() {
			rows = append(rows, t.counted(r, t.name(a.Member, a.Name), 1, a.Crew, a.Outcome, t.hours(a.Member)))
			continue
		}
		crews = addOnce(crews, a.Crew)
		heads[a.Crew]++
		sums[a.Crew] += t.hours(a.Member)
	}
	for _, crew := range crews {
		rows = append(rows, t.counted(r, "", heads[crew], crew, "", sums[crew]))
	}
	return rows
}

func (t table) counted(r Record, member string, heads int, crew Crew, outcome Outcome, length time.Duration) sheet.Row {
	return t.row("counts", r.Details, sheet.Text(member), sheet.Whole(int64(heads)), sheet.Text(crew.Unit), sheet.Text(crew.Platoon),
		sheet.Text(string(outcome)), sheet.Hours(length), sheet.Text(t.name(r.Confirmed.By, "")), t.day(r.Confirmed.At))
}

// TallyTable is a year's hours: each unit, and each member. Hours are of members.
func TallyTable(t Tally, name func(member string) string) sheet.Table {
	headings := []string{"who", "name"}
	for m := time.January; m <= time.December; m++ {
		headings = append(headings, m.String()[:3])
	}
	hours := sheet.Table{Name: "Hours", Landscape: true, Columns: headed(append(headings, "hours", "target", "missing")...)}
	row := func(who, name string, months [12]time.Duration, last ...time.Duration) {
		cells := []sheet.Cell{sheet.Text(who), sheet.Text(name)}
		for _, d := range append(months[:], last...) {
			cells = append(cells, sheet.Hours(d))
		}
		hours.Rows = append(hours.Rows, sheet.Row{Cells: cells, Total: who == "department"})
	}
	for _, u := range t.Units {
		row("unit", u.Unit, u.Months, u.Hours)
	}
	for _, p := range t.People {
		row("member", name(p.Member), p.Months, p.Hours, t.Target, p.Missing)
	}
	row("department", "", t.Months, t.Total())
	return hours
}
