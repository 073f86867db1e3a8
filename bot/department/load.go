package department

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"time"

	"kitbell/bot/kit"
)

// FileName is the department's file in its folder.
const FileName = "department.yaml"

// Loader reads department files. The zero Loader knows no cards and takes every
// well-formed id for one.
type Loader struct {
	Items      []string // ids of the tool cards
	Techniques []string // ids of the technique cards
	Drills     []string // ids of the drill cards
	Topics     []string // ids of every card: what an entry's topic may be
	Platforms  []Platform
}

// Platform is a place to talk that the program knows, with how its ids look.
type Platform struct {
	Name                        string
	Workspace, Channel, Account IDShape
}

// IDShape is how an id looks: Fits says whether a text may be one, Example shows
// one. The zero shape means that there is no such id on the platform.
type IDShape struct {
	Fits    func(string) bool
	Example string
}

// Load reads one file without knowing the cards.
func Load(fsys fs.FS, name string) (*Department, Problems) { return Loader{}.Load(fsys, name) }

// LoadAll reads every department of a folder without knowing the cards.
func LoadAll(fsys fs.FS) ([]*Department, Problems) { return Loader{}.LoadAll(fsys) }

// Load reads and checks one file. Every problem is in the result; the
// department is nil when one of them is more than a warning.
func (l Loader) Load(fsys fs.FS, name string) (*Department, Problems) {
	raw, err := readFile(fsys, name)
	if err != nil {
		return nil, Problems{{File: name, Say: cannotRead(err)}}
	}
	return l.Parse(name, raw)
}

// readFile reads at most a byte more than a file may have.
func readFile(fsys fs.FS, name string) ([]byte, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxBytes+1))
}

func cannotRead(err error) string {
	if errors.Is(err, fs.ErrNotExist) {
		return "there is no such file; kitbell init writes one to start from"
	}
	return fmt.Sprintf("the file cannot be read: %v", err)
}

// Parse checks a file's text; name is what its problems call it.
func (l Loader) Parse(name string, raw []byte) (*Department, Problems) {
	r := newReader(name, raw)
	root, ok := r.parse(raw)
	if !ok {
		return nil, r.done()
	}
	w := &walk{known: l, dept: &Department{}, declared: map[string]map[string]int{}}
	if o, ok := (value{r, root, "the file"}).object(sections()...); ok {
		w.file(o)
	}
	problems := r.done()
	if problems.Err() != nil {
		return nil, problems
	}
	return w.dept, problems
}

// LoadAll reads department.yaml of a folder, or that of each of its folders.
// The departments are in the order of their folders; nil when any has a problem
// that is more than a warning.
func (l Loader) LoadAll(fsys fs.FS) ([]*Department, Problems) {
	names, problem := files(fsys)
	if problem != "" {
		return nil, Problems{{File: FileName, Say: problem}}
	}
	var all []*Department
	var problems Problems
	slugs := map[string]string{}
	for _, name := range names {
		d, found := l.Load(fsys, name)
		problems = append(problems, found...)
		if d == nil {
			continue
		}
		if other, twice := slugs[d.Slug]; twice {
			problems = append(problems, Problem{File: name, Say: fmt.Sprintf("the department %q is in %s too; each needs a slug of its own", d.Slug, other)})
		}
		slugs[d.Slug] = name
		all = append(all, d)
	}
	if problems.Err() != nil {
		return nil, problems
	}
	return all, problems
}

// files finds the department files of a folder.
func files(fsys fs.FS) (names []string, problem string) {
	one, err := fs.Glob(fsys, FileName)
	if err == nil {
		names, err = fs.Glob(fsys, path.Join("*", FileName))
	}
	switch {
	case err != nil:
		return nil, cannotRead(err)
	case len(one) > 0 && len(names) > 0:
		return nil, fmt.Sprintf("there is one here and one in %s; keep either one department, or a folder for each", path.Dir(names[0]))
	case len(one)+len(names) == 0:
		return nil, "there is no such file here, nor in a folder below; kitbell init writes one to start from"
	}
	return append(one, names...), ""
}

// sections are the keys at the top of the file.
func sections() []string {
	return []string{"department", "name", "zone", "currency", "hours", "platoons", "stations", "units", "items", "lists",
		"in-force", "on-every-rig", "kits", "members", "channels", "entries", "forbids", "must-know", "training-hours", "drill-targets", "task-book", "evaluators", "calls", "budget",
		"checks", "limits", "holidays", "platforms", "retention"}
}

// walk goes through the file once, from what stands alone to what refers to it.
type walk struct {
	known    Loader
	dept     *Department
	declared map[string]map[string]int // kind of thing → id → line
}

func (w *walk) file(o object) {
	w.head(o)
	each(o, "stations", "station", w.station)
	each(o, "units", "unit", w.unit)
	each(o, "items", "item", w.item)
	each(o, "lists", "list", w.list)
	w.inForce(o)
	w.dept.OnEvery = o.mayTexts("on-every-rig", "item on every rig")
	each(o, "kits", "kit", w.kit)
	each(o, "members", "member", w.member)
	each(o, "channels", "channel", w.channel)
	each(o, "drill-targets", "target", w.drillTarget)
	each(o, "task-book", "skill", w.skill)
	each(o, "evaluators", "evaluator", w.evaluator)
	each(o, "platforms", "platform", w.platform)
	each(o, "entries", "entry", w.entry)
	if v, ok := o.may("training-hours"); ok {
		if hours, ok := v.whole(0, 8784); ok {
			w.dept.HoursTarget = time.Duration(hours) * time.Hour
		}
	}
	w.dept.Forbids, w.dept.MustKnow = w.techniques(o, "forbids"), w.techniques(o, "must-know")
	w.calls(o)
	w.budget(o)
	w.checks(o)
	w.limits(o)
	w.holidays(o)
	w.retention(o)
	w.gaps(o)
}

// head reads what is there once: the department's name, zone, hours, platoons.
func (w *walk) head(o object) {
	if v, ok := o.need("department"); ok {
		w.dept.Slug, _ = v.id()
	}
	w.dept.Name, _, _ = o.needText("name")
	w.dept.Currency = "USD"
	if v, ok := o.may("currency"); ok {
		w.currency(v)
	}
	if v, ok := o.need("zone"); ok {
		w.zone(v)
	}
	if v, ok := o.need("hours"); ok {
		w.hours(v)
	}
	if v, ok := o.need("platoons"); ok {
		w.platoons(v)
	}
}

// each reads a section, a list of groups that may be missing; one of them is
// called what.
func each(o object, section, what string, read func(object)) {
	v, ok := o.may(section)
	if !ok {
		return
	}
	for _, one := range v.list(what) {
		if group, ok := one.object(keysOf(what)...); ok {
			read(group)
		}
	}
}

// keysOf are the keys that a group may have.
func keysOf(what string) []string {
	switch what {
	case "station":
		return []string{"id", "name"}
	case "unit":
		return []string{"id", "name", "station", "aliases", "reserve", "sold"}
	case "item":
		return []string{"id", "name", "aliases", "price", "source", "consumable", "life"}
	case "list":
		return []string{"version", "qty"}
	case "kit":
		return []string{"id", "unit", "shelf", "list", "seal"}
	case "member":
		return []string{"id", "name", "rank", "roles", "unit", "platoon", "status", "acting", "probation", "accounts"}
	case "skill":
		return []string{"id", "title", "no-door"}
	case "target":
		return []string{"drill", "minutes", "tries"}
	case "evaluator":
		return []string{"member", "skills"}
	case "platform":
		return []string{"platform", "api"}
	case "channel":
		return []string{"platform", "workspace", "id", "use", "station", "listen"}
	default:
		return []string{"id", "cron", "due", "topic", "units"}
	}
}

// declare notes that a thing exists. A second one of the same id is a problem.
func (w *walk) declare(kind string, v value, id string) {
	ids := w.declared[kind]
	if ids == nil {
		ids = map[string]int{}
		w.declared[kind] = ids
	}
	if line, twice := ids[id]; twice {
		v.bad("%s %s is there twice; the first is on line %d", kind, id, line)
		return
	}
	ids[id] = v.line()
}

// refer reads the id of a thing that must exist.
func (w *walk) refer(kind string, v value) (id string, ok bool) {
	id, ok = v.text()
	if !ok {
		return "", false
	}
	if _, there := w.declared[kind][id]; !there {
		v.bad("there is no %s %q in this file%s", kind, id, didYouMean(id, w.ids(kind)))
		return "", false
	}
	return id, true
}

func (w *walk) ids(kind string) []string {
	var ids []string
	for id := range w.declared[kind] {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// mayRefer is refer for a key that can be left out.
func (w *walk) mayRefer(o object, key, kind string) string {
	if v, ok := o.may(key); ok {
		id, _ := w.refer(kind, v)
		return id
	}
	return ""
}

// gaps warns of what a department can do without but hardly means to.
func (w *walk) gaps(o object) {
	if len(w.dept.MembersWith(Lead)) == 0 {
		o.r.warn(nil, "no member has the role lead: nobody gets the digest")
	}
	v, ok := o.may("channels")
	if !ok {
		return
	}
	for _, station := range w.kitStations() {
		if !slices.ContainsFunc(w.dept.Channels, func(c Channel) bool { return c.Use == StationChannel && c.Station == station }) {
			v.r.warn(v.place(), "%s has a kit but no channel: its crews get no posts", station)
		}
	}
}

// kitStations are the stations whose units carry kits.
func (w *walk) kitStations() []string {
	stations := map[string]bool{}
	for _, k := range w.dept.Kits {
		if u, ok := w.dept.Unit(k.Place.At); ok && k.Place.Kind == kit.OnUnit {
			stations[u.Station] = true
		}
	}
	return sorted(stations)
}

func sorted(set map[string]bool) []string {
	var all []string
	for one := range set {
		all = append(all, one)
	}
	slices.Sort(all)
	return all
}

// ClockWarnings says which entries' moments of the two years after from a clock
// change removes or repeats.
func (d *Department) ClockWarnings(from time.Time) []string {
	var warnings []string
	for _, e := range d.Entries {
		for _, m := range e.Cron.Disturbances(from, from.AddDate(2, 0, 0), d.Zone) {
			warnings = append(warnings, fmt.Sprintf("entry %s: %s", e.ID, m))
		}
	}
	return warnings
}
