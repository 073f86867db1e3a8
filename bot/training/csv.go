package training

import (
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// formula is a sign that starts a formula where a spreadsheet may see the start of
// a cell: at the front, and after what some programs split a cell at; blanks and
// quotes between do not hide it.
var formula = regexp.MustCompile("(^|[;\t\r\n])([ \u00a0\u3000\ufeff\"]*[=+\\-@＝＋－＠])")

// Neutral is a cell that no spreadsheet takes for a formula: an apostrophe stands
// before each sign that could start one, so that it is shown as text.
func Neutral(cell string) string { return formula.ReplaceAllString(cell, "$1'$2") }

// WriteCSV writes rows with every cell neutral and in quotes. Lines end as RFC
// 4180 has it.
func WriteCSV(w io.Writer, rows [][]string) error {
	var text strings.Builder
	for _, row := range rows {
		for i, cell := range row {
			if i > 0 {
				text.WriteByte(',')
			}
			text.WriteString(`"` + strings.ReplaceAll(Neutral(cell), `"`, `""`) + `"`)
		}
		text.WriteString("\r\n")
	}
	if _, err := io.WriteString(w, text.String()); err != nil {
		return fmt.Errorf("write csv: %w", err)
	}
	return nil
}

// RecordRows are the training records as a table, its heading first: for each
// session that an officer confirmed, the details as they were entered first, those
// of each correction, and then who took part with the hours that count. Names stand
// with what was done by hand; of other sessions a row gives a crew's head count.
// name says how a member is called on paper.
func RecordRows(sessions []Session, zone *time.Location, name func(member string) string) [][]string {
	rows := [][]string{{"session", "entry", "date", "start", "end", "place", "subject", "standard", "method", "instructor",
		"member", "members", "unit", "platoon", "result", "hours", "entered or confirmed by", "on", "reason"}}
	earned := map[[2]string]time.Duration{}
	for _, c := range credits(Records(sessions)) {
		earned[[2]string{c.key, c.member}] = c.length
	}
	for _, s := range sessions {
		record, ok := s.Record()
		if !ok {
			continue
		}
		t := table{zone: zone, name: name, hours: func(member string) time.Duration { return earned[[2]string{s.Key, member}] }}
		rows = append(rows, t.entered("first entry", s.First))
		for _, step := range s.Later[:s.vouchedFor] {
			switch step.What {
			case SessionCorrected:
				rows = append(rows, t.entered("correction", step))
			case SessionStruck:
				rows = append(rows, t.struck(record, step))
			}
		}
		rows = append(rows, t.attended(record)...)
	}
	return rows
}

// table lays out rows.
type table struct {
	zone  *time.Location
	name  func(member string) string
	hours func(member string) time.Duration
}

func (t table) details(key, entry string, d Details) []string {
	return []string{key, entry, t.day(d.Start), d.Start.In(t.zone).Format("15:04"), d.End.In(t.zone).Format("15:04"),
		d.Place, d.Subject, d.Standard, string(d.Method), t.name(d.Instructor)}
}

func (t table) day(at time.Time) string { return at.In(t.zone).Format(time.DateOnly) }

// entered is a row without anybody who took part.
func (t table) entered(entry string, s SessionStep) []string {
	return append(t.details(s.Key, entry, s.Details), "", "", "", "", "", "", t.name(s.By), t.day(s.At), s.Reason)
}

func (t table) struck(r Record, s SessionStep) []string {
	member := ""
	if r.Method.ByHand() {
		member = t.name(s.Member)
	}
	return append(t.details(r.Key, "struck", r.Details), member, "1", "", "", "", "", t.name(s.By), t.day(s.At), s.Reason)
}

// attended are the rows that count: a member each where they may be named, else a
// crew each.
func (t table) attended(r Record) [][]string {
	var rows [][]string
	var crews []Crew
	heads, sums := map[Crew]int{}, map[Crew]time.Duration{}
	for _, a := range r.Attended {
		if r.Method.ByHand() {
			rows = append(rows, t.counted(r, t.name(a.Member), 1, a.Crew, a.Outcome, t.hours(a.Member)))
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

func (t table) counted(r Record, member string, heads int, crew Crew, outcome Outcome, length time.Duration) []string {
	return append(t.details(r.Key, "counts", r.Details), member, strconv.Itoa(heads), crew.Unit, crew.Platoon, string(outcome),
		strconv.FormatFloat(hours(length), 'f', -1, 64), t.name(r.Confirmed.By), t.day(r.Confirmed.At), "")
}

// TallyRows is a year's hours as a table, its heading first: each unit, and each
// member. Hours are of members.
func TallyRows(t Tally, name func(member string) string) [][]string {
	head := []string{"who", "name"}
	for m := time.January; m <= time.December; m++ {
		head = append(head, m.String()[:3])
	}
	rows := [][]string{append(head, "hours", "target", "missing")}
	number := func(d time.Duration) string { return strconv.FormatFloat(hours(d), 'f', -1, 64) }
	row := func(who, name string, months [12]time.Duration, last ...string) {
		cells := []string{who, name}
		for _, m := range months {
			cells = append(cells, number(m))
		}
		rows = append(rows, append(cells, last...))
	}
	for _, u := range t.Units {
		row("unit", u.Unit, u.Months, number(u.Hours), "", "")
	}
	for _, p := range t.People {
		row("member", name(p.Member), p.Months, number(p.Hours), number(t.Target), number(p.Missing))
	}
	row("department", "", t.Months, number(t.Total()), "", "")
	return rows
}
