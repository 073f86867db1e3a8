package schedule

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// EveryFloor is the shortest time that @every may name: kitbell posts seldom.
const EveryFloor = time.Hour

const maxSpec = 200 // bytes

// A field is one of the five of a spec.
type field struct {
	name     string
	min, max int      // what may be written
	top      int      // the largest value that * means
	words    []string // names of the values from min on
}

func fieldKinds() [5]field {
	return [5]field{
		{"minute", 0, 59, 59, nil},
		{"hour", 0, 23, 23, nil},
		{"day of month", 1, 31, 31, nil},
		{"month", 1, 12, 12, strings.Fields("JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC")},
		{"day of week", 0, 7, 6, strings.Fields("SUN MON TUE WED THU FRI SAT")},
	}
}

// fields are the values that each field allows, nil for all of them.
type fields [5][]int

var (
	part  = regexp.MustCompile(`^(\*|\?|[0-9A-Za-z]+)(-([0-9A-Za-z]+))?(/([0-9]+))?$`)
	zoned = regexp.MustCompile(`(?i)^(CRON_)?TZ=`)
)

// Parse reads a cron spec. The error says in plain words what is wrong and what
// to write instead. It differs from the parser underneath: day of week 7 is
// Sunday, a range of days may run over the week's end (FRI-MON), a step needs a
// range (0-59/15, not 0/15), a zone prefix is refused, and so is what never
// comes round.
func Parse(spec string) (Cron, error) {
	spec = strings.TrimSpace(spec)
	switch {
	case spec == "":
		return Cron{}, fmt.Errorf("the spec is empty: write five fields, such as \"0 9 * * MON\"")
	case len(spec) > maxSpec:
		return Cron{}, fmt.Errorf("the spec has %d bytes, more than the %d that are read", len(spec), maxSpec)
	case zoned.MatchString(spec):
		return Cron{}, fmt.Errorf("a zone in the spec is not read: times are the department's, by its own zone")
	case strings.HasPrefix(spec, "@every"):
		return parseEvery(spec)
	case strings.HasPrefix(spec, "@"):
		return parseNamed(spec)
	}
	return parseFields(spec, spec)
}

func parseEvery(spec string) (Cron, error) {
	d, err := time.ParseDuration(strings.TrimSpace(strings.TrimPrefix(spec, "@every")))
	switch {
	case err != nil:
		return Cron{}, fmt.Errorf("%q: write @every with hours, such as \"@every 36h\"", spec)
	case d < EveryFloor:
		return Cron{}, fmt.Errorf("%q is too often: the shortest is @every %dh", spec, int(EveryFloor.Hours()))
	case d > 366*24*time.Hour:
		return Cron{}, fmt.Errorf("%q is longer than a year: write the date instead", spec)
	case d%time.Minute != 0:
		return Cron{}, fmt.Errorf("%q: whole minutes only", spec)
	}
	return Cron{spec: spec, every: d}, nil
}

func parseNamed(spec string) (Cron, error) {
	switch strings.ToLower(spec) {
	case "@yearly", "@annually":
		return parseFields(spec, "0 0 1 1 *")
	case "@monthly":
		return parseFields(spec, "0 0 1 * *")
	case "@weekly":
		return parseFields(spec, "0 0 * * 0")
	case "@daily", "@midnight":
		return parseFields(spec, "0 0 * * *")
	case "@hourly":
		return parseFields(spec, "0 * * * *")
	}
	return Cron{}, fmt.Errorf("%q is not known: write five fields, or @hourly, @daily, @weekly, @monthly, @yearly, @every", spec)
}

func parseFields(given, spec string) (Cron, error) {
	texts := strings.Fields(spec)
	if len(texts) != 5 {
		return Cron{}, fmt.Errorf("%q has %s: five are needed: minute, hour, day of month, month, day of week",
			given, count(len(texts), "field"))
	}
	c := Cron{spec: given, real: strings.HasPrefix(texts[1], "*") || strings.HasPrefix(texts[1], "?")}
	plain := make([]string, 5)
	for i, f := range fieldKinds() {
		values, err := f.read(texts[i])
		if err != nil {
			return Cron{}, err
		}
		c.parts[i] = values
		plain[i] = list(values)
	}
	table, err := cron.ParseStandard(strings.Join(plain, " "))
	if err != nil {
		return Cron{}, fmt.Errorf("%q is not read: %v", given, err)
	}
	c.table = table.(*cron.SpecSchedule)
	if _, ok := c.nextWall(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)); !ok {
		return Cron{}, fmt.Errorf("%q never comes round: no month it names has such a day", given)
	}
	return c, nil
}

// read lists the values that a field's text allows, nil for all of them.
func (f field) read(text string) ([]int, error) {
	if text == "*" || text == "?" || text == "*/1" {
		return nil, nil
	}
	var allowed [64]bool
	for _, p := range strings.Split(text, ",") {
		if err := f.readPart(p, &allowed); err != nil {
			return nil, err
		}
	}
	if f.max > f.top && allowed[f.max] {
		allowed[0], allowed[f.max] = true, false // Sunday is 0 and 7
	}
	values := []int{}
	for v, ok := range allowed {
		if ok {
			values = append(values, v)
		}
	}
	return values, nil
}

func (f field) readPart(text string, allowed *[64]bool) error {
	m := part.FindStringSubmatch(text)
	if m == nil {
		return fmt.Errorf("%s: %q is not read; write a number, a range such as %d-%d, or *", f.name, text, f.min, f.min+4)
	}
	first, last, step := f.min, f.top, 1
	var err error
	star := m[1] == "*" || m[1] == "?"
	if star && m[2] != "" {
		return fmt.Errorf("%s: %q: * is every value already and takes no range", f.name, text)
	}
	if !star {
		if first, err = f.value(m[1]); err != nil {
			return err
		}
		if last = first; m[2] != "" {
			if last, err = f.value(m[3]); err != nil {
				return err
			}
		}
	}
	if m[4] != "" {
		if step, err = f.step(text, m, star); err != nil {
			return err
		}
	}
	return f.fill(text, first, last, step, allowed)
}

// fill marks the values from first to last. Days of the week may run over the
// week's end, which the parser underneath refuses.
func (f field) fill(text string, first, last, step int, allowed *[64]bool) error {
	if first > last {
		if f.max == f.top {
			return fmt.Errorf("%s: %q runs backwards: write the smaller value first", f.name, text)
		}
		last += 7
	}
	for v := first; v <= last; v += step {
		if v > f.max {
			allowed[v-7] = true
			continue
		}
		allowed[v] = true
	}
	return nil
}

func (f field) step(text string, m []string, star bool) (int, error) {
	step, err := strconv.Atoi(m[5])
	switch {
	case !star && m[2] == "":
		return 0, fmt.Errorf("%s: %q: a step needs a range: write %s-%d/%s", f.name, text, m[1], f.top, m[5])
	case err != nil || step < 1 || step > f.top-f.min:
		return 0, fmt.Errorf("%s: %q: the step must be 1 to %d", f.name, text, f.top-f.min)
	}
	return step, nil
}

func (f field) value(text string) (int, error) {
	for i, w := range f.words {
		if strings.EqualFold(w, text) {
			return f.min + i, nil
		}
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0, fmt.Errorf("%s: %q is not read; write a number from %d to %d%s", f.name, text, f.min, f.max, f.hint())
	}
	if n < f.min || n > f.max {
		return 0, fmt.Errorf("%s: %d is out of range: %d to %d", f.name, n, f.min, f.max)
	}
	return n, nil
}

func (f field) hint() string {
	if f.words == nil {
		return ""
	}
	return " or a name such as " + f.words[1]
}

// list writes values for the parser underneath.
func list(values []int) string {
	if values == nil {
		return "*"
	}
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = strconv.Itoa(v)
	}
	return strings.Join(texts, ",")
}
