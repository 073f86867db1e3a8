package understand

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// calendar knows how people say a day of the year.
type calendar struct {
	months                                                   map[wordID]time.Month
	modals                                                   map[wordID]bool // months that are also other words: may, march
	units                                                    map[wordID]int  // days in a day, a week
	ordinals                                                 map[wordID]int  // fifth → 5
	suffixes                                                 map[wordID]bool // the th of 5th
	feasts                                                   []feast         // longest first
	vague                                                    []feast         // what no day can be given for
	next, in, from, now, after, day, the, of, on, a, weekend wordID
}

// feast is a day that has a name.
type feast struct {
	words []wordID
	date  string // MM-DD, or empty when it moves
}

// datesFile is dates.yaml.
type datesFile struct {
	Months   map[int]string    `yaml:"months"`
	Modals   string            `yaml:"modals"`
	Ordinals map[int]string    `yaml:"ordinals"`
	Feasts   map[string]string `yaml:"feasts"`
	Vague    []string          `yaml:"vague"`
}

func (r *Reader) loadDates() error {
	var file datesFile
	if err := readWords("dates.yaml", &file); err != nil {
		return err
	}
	v := r.words
	c := calendar{
		months: map[wordID]time.Month{}, modals: map[wordID]bool{}, units: map[wordID]int{}, ordinals: map[wordID]int{}, suffixes: map[wordID]bool{},
		next: v.id("next"), in: v.id("in"), from: v.id("from"), now: v.id("now"), after: v.id("after"), day: v.id("day"), the: v.id("the"), of: v.id("of"),
		on: v.id("on"), a: v.id("a"), weekend: v.id("weekend"),
	}
	for month, words := range file.Months {
		for _, id := range v.list(words) {
			c.months[id] = time.Month(month)
		}
	}
	addAll(c.modals, v.list(file.Modals))
	addAll(c.suffixes, v.list("st nd rd th"))
	for n, words := range file.Ordinals {
		for _, id := range v.list(words) {
			c.ordinals[id] = n
		}
	}
	for word, days := range map[string]int{"day": 1, "days": 1, "week": 7, "weeks": 7} {
		c.units[v.id(word)] = days
	}
	for name, date := range file.Feasts {
		c.feasts = append(c.feasts, feast{v.list(name), date})
	}
	for _, name := range file.Vague {
		c.vague = append(c.vague, feast{v.list(name), ""})
	}
	slices.SortFunc(c.feasts, func(a, b feast) int { return len(b.words) - len(a.words) })
	r.calendar = c
	return nil
}

// findDates makes one mark of every date. It runs once items and rigs are found:
// "2/4" behind an item counts pieces.
func (s *sheet) findDates() {
	items := slices.ContainsFunc(s.marks, func(m mark) bool { return m.kind == itemMark || m.kind == sizeMark })
	for i := 0; i < len(s.marks); i++ {
		m := s.marks[i]
		if m.kind == unitMark || m.kind == itemMark || m.kind == borderMark {
			continue
		}
		day, end := s.dateAt(m.at, items)
		if end == 0 {
			continue
		}
		last := i
		for last+1 < len(s.marks) && s.marks[last].end < end {
			last++
		}
		if s.marks[last].end == end {
			s.marks[i] = mark{kind: dateMark, at: m.at, end: end, day: day}
			for k := i + 1; k <= last; k++ {
				s.marks[k].kind = goneMark
			}
			i = last
		}
	}
	s.marks = slices.DeleteFunc(s.marks, func(m mark) bool { return m.kind == goneMark })
}

// dateAt reads a date at token i: the day as a command reads it, or the words
// themselves where no day can be told, and the token behind it, 0 for none.
func (s *sheet) dateAt(i int, items bool) (day string, end int) {
	c := s.calendar
	t := s.tokens[i]
	for _, f := range c.feasts {
		if s.reads(f.words, i) {
			return f.date, i + len(f.words)
		}
	}
	for _, f := range c.vague {
		if s.reads(f.words, i) {
			return s.said(i, i+len(f.words)), i + len(f.words)
		}
	}
	switch {
	case c.months[t.word] != 0:
		return s.monthFirst(i)
	case t.kind == numberToken || c.ordinals[t.word] != 0:
		if day, end := s.dayFirst(i); end > 0 {
			return day, end
		}
		if !items && t.kind == numberToken {
			return s.written(i)
		}
	case t.word == c.next:
		if i+1 < len(s.tokens) && s.words.days[s.tokens[i+1].word] != "" {
			return "next " + s.words.days[s.tokens[i+1].word], i + 2
		}
	case t.word == c.day && s.reads([]wordID{c.day, c.after, s.words.known("tomorrow")}, i):
		return "+2d", i + 3
	case t.word == c.in:
		if days, end := s.spanAt(i + 1); end > 0 {
			return days, end
		}
	}
	if t.word == c.the && i+2 < len(s.tokens) && s.tokens[i+1].kind == numberToken && c.suffixes[s.tokens[i+2].word] && s.tokens[i+2].joined &&
		(i+3 == len(s.tokens) || s.tokens[i+3].border()) {
		return s.said(i, i+3), i + 3 // of which month is not said
	}
	if days, end := s.spanAt(i); end > 0 && s.reads([]wordID{c.from, c.now}, end) {
		return days, end + 2
	}
	return "", 0
}

// reads says whether the words stand at token i.
func (s *sheet) reads(words []wordID, i int) bool {
	if i+len(words) > len(s.tokens) {
		return false
	}
	for k, w := range words {
		if w == 0 || s.tokens[i+k].word != w {
			return false
		}
	}
	return true
}

// said is the text of some tokens.
func (s *sheet) said(from, to int) string { return s.text[s.tokens[from].from:s.tokens[to-1].to] }

// spanAt reads "three days", "a week" as days ahead.
func (s *sheet) spanAt(i int) (string, int) {
	if i+1 >= len(s.tokens) || s.calendar.units[s.tokens[i+1].word] == 0 {
		return "", 0
	}
	n := s.tokens[i].value
	if s.tokens[i].word == s.calendar.a {
		n = 1
	}
	if n < 1 || n > 1000 {
		return "", 0
	}
	return fmt.Sprintf("+%dd", n*s.calendar.units[s.tokens[i+1].word]), i + 2
}

// dayNumber reads 5, 5th, fifth at token i.
func (s *sheet) dayNumber(i int) (n, end int) {
	if i >= len(s.tokens) {
		return 0, 0
	}
	t := s.tokens[i]
	if n := s.calendar.ordinals[t.word]; n > 0 {
		return n, i + 1
	}
	if t.kind != numberToken || t.value < 1 {
		return 0, 0
	}
	if i+1 < len(s.tokens) && s.tokens[i+1].joined && s.calendar.suffixes[s.tokens[i+1].word] {
		return t.value, i + 2
	}
	return t.value, i + 1
}

// monthFirst reads "Dec 25", "December the 5th", "Dec 25 2027".
func (s *sheet) monthFirst(i int) (string, int) {
	at := i + 1
	if at < len(s.tokens) && s.tokens[at].word == s.calendar.the {
		at++
	}
	n, end := s.dayNumber(at)
	if end == 0 || end < len(s.tokens) && s.calendar.modals[s.tokens[i].word] && !s.tokens[end].border() && s.words.days[s.tokens[end].word] == "" && s.tokens[at].value >= 0 && end == at+1 {
		return "", 0 // "may 5 people …"
	}
	return s.dated(i, end, s.calendar.months[s.tokens[i].word], n)
}

// dayFirst reads "25 December", "5th of December".
func (s *sheet) dayFirst(i int) (string, int) {
	n, at := s.dayNumber(i)
	if at > 0 && at < len(s.tokens) && s.tokens[at].word == s.calendar.of {
		at++
	}
	if at == 0 || at >= len(s.tokens) {
		return "", 0
	}
	month := s.calendar.months[s.tokens[at].word]
	if month == 0 || s.calendar.modals[s.tokens[at].word] && at == i+1 && s.tokens[i].kind != numberToken {
		return "", 0
	}
	return s.dated(i, at+1, month, n)
}

// dated writes a day of a month, with the year when one follows.
func (s *sheet) dated(from, end int, month time.Month, n int) (string, int) {
	year := 0
	at := end
	if at+1 < len(s.tokens) && s.tokens[at].kind == commaToken {
		at++
	}
	if at < len(s.tokens) && s.tokens[at].kind == numberToken && s.tokens[at].value >= 2000 && s.tokens[at].value < 2200 {
		year, end = s.tokens[at].value, at+1
	}
	if day := calendarDay(year, int(month), n); day != "" {
		return day, end
	}
	return s.said(from, end), end
}

// written reads "12/25", "12/25/2026" and "2026-12-25".
func (s *sheet) written(i int) (string, int) {
	parts := []int{s.tokens[i].value}
	sign := byte(0)
	end := i + 1
	for ; end < len(s.tokens) && len(parts) < 3 && s.tokens[end].kind == numberToken; end++ {
		between := s.text[s.tokens[end-1].to:s.tokens[end].from]
		if between != "/" && between != "-" || sign != 0 && between[0] != sign {
			break
		}
		sign = between[0]
		parts = append(parts, s.tokens[end].value)
	}
	day := ""
	switch {
	case len(parts) == 3 && parts[0] >= 2000:
		day = calendarDay(parts[0], parts[1], parts[2])
	case len(parts) == 3 && parts[2] < 100:
		day = calendarDay(2000+parts[2], parts[0], parts[1])
	case len(parts) == 3:
		day = calendarDay(parts[2], parts[0], parts[1])
	case len(parts) == 2 && sign == '/':
		if parts[0] == 24 && parts[1] == 7 {
			return "", 0 // round the clock
		}
		day = calendarDay(0, parts[0], parts[1])
	default:
		return "", 0
	}
	if day == "" {
		day = s.said(i, end)
	}
	return day, end
}

// leapYear is a year in which every day exists.
const leapYear = 2028

// calendarDay is a date as a command reads it, without its year when that is 0;
// empty when there is no such day.
func calendarDay(year, month, day int) string {
	check := year
	if year == 0 {
		check = leapYear
	}
	date := fmt.Sprintf("%04d-%02d-%02d", check, month, day)
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return ""
	}
	if year == 0 {
		return strings.TrimPrefix(date, strconv.Itoa(leapYear)+"-")
	}
	return date
}
