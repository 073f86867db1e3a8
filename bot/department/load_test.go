package department_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/testdata/demo"
)

// good is a small file without a mistake, for the tables to break.
const good = `department: small-town
name: Small Town
zone: America/New_York
hours:
  quiet: 21:00-07:00
  morning: 08:00-10:00
platoons:
  names: [A, B, C]
  pattern: 24/48
  change: 07:30
  start: 2026-01-01
stations:
  - {id: station-1, name: 1 Main Street}
units:
  - {id: engine-1, name: Engine 1, station: station-1}
  - {id: engine-2, name: Engine 2, station: station-1, reserve: true}
items:
  - {id: shove-knife, price: 24.00}
  - {id: wood-wedge, price: 2.5, consumable: true}
lists:
  - version: 1
    qty: {shove-knife: 1, wood-wedge: 4}
kits:
  - {id: k01, unit: engine-1, seal: 004501}
members:
  - {id: first-lead, name: First Lead, roles: [lead], unit: engine-1, platoon: A, accounts: {slack: U1}}
  - {id: second-one, name: Second One}
channels:
  - {platform: console, id: station-1, use: station, station: station-1}
entries:
  - {id: weekly, cron: "0 9 * * MON", due: check, units: all}
`

func load(text string) (*department.Department, department.Problems) {
	return department.Load(fstest.MapFS{department.FileName: {Data: []byte(text)}}, department.FileName)
}

func TestGoodFile(t *testing.T) {
	d, problems := load(good)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if k, _ := d.KitOf("engine-1"); k.Seal != "004501" || k.List != 1 {
		t.Errorf("kit %+v", k)
	}
	if line, _ := d.Lists[0].Line("wood-wedge"); line.Cents != 250 || !line.Consumable || line.Qty != 4 {
		t.Errorf("line %+v", line)
	}
	if got := d.Entries[0]; got.Cron.Words() != "Mondays 09:00" || len(got.Units) != 1 {
		t.Errorf("entry %+v", got)
	}
}

// TestMistakes breaks the good file in one place each: old is replaced by new,
// and at is where the problem must point, as line:column.
func TestMistakes(t *testing.T) {
	for _, row := range []struct{ name, old, new, at, says string }{
		{"unknown key", "  quiet: 21", "  quite: 21", "5:3", `unknown key "quite"; did you mean "quiet"?`},
		{"unknown section", "kits:", "kit:", "23:1", `unknown key "kit"; did you mean "kits"?`},
		{"key far from any", "zone: Am", "weather: Am", "3:1", `unknown key "weather"`},
		{"missing key", "name: Small Town\n", "", "1:1", `the key "name" is missing`},
		{"missing key in a group", ", name: Engine 1", "", "15:5", `unit: the key "name" is missing`},
		{"key twice", "zone: America/New_York\n", "zone: UTC\nzone: UTC\n", "4:1", `key "zone" is there twice; the first is on line 3`},
		{"list instead of text", "name: Small Town", "name: [Small, Town]", "2:7", "one value is needed here, not a list"},
		{"a skill of nobody's book", "units: all}", "units: all}\nevaluators:\n  - {member: second-one, skills: [flying]}", "33:35", `there is no skill "flying"`},
		{"an evaluator who is nobody", "units: all}", "units: all}\nevaluators:\n  - {member: third-one}", "33:14", `there is no member "third-one"`},
		{"a guest as evaluator", "name: Second One}", "name: Second One, roles: [guest]}\nevaluators:\n  - {member: second-one}", "29:14", "a guest signs nothing"},
		{"a skill twice", "units: all}", "units: all}\ntask-book:\n  - {id: care}\n  - {id: care}", "34:10", "skill care is there twice"},
		{"a target below zero", "units: all}", "units: all}\ndrill-targets:\n  - {drill: pair, minutes: -3}", "33:28", "a whole number from 1 to 60"},
		{"a target of no drill", "units: all}", "units: all}\ndrill-targets:\n  - {minutes: 3}", "33:5", `the key "drill" is missing`},
		{"a target twice", "units: all}", "units: all}\ndrill-targets:\n  - {drill: pair, minutes: 3}\n  - {drill: pair, tries: 2}", "34:13", "target of drill pair is there twice"},
		{"hours below zero", "units: all}", "units: all}\ntraining-hours: -1", "32:17", "a whole number from 0 to 8784"},
		{"text instead of list", "units: all}", "units: all}\nforbids: none", "32:10", "a list is needed here, not a single value"},
		{"text instead of group", "hours:\n  quiet: 21:00-07:00\n  morning: 08:00-10:00", "hours: always", "4:8", "a group of keys is needed here, not a single value"},
		{"no value", "name: Small Town", "name:", "2:6", "name has no value"},
		{"empty text", "name: Small Town", `name: ""`, "2:7", "name has no value"},
		{"bad slug", "small-town", "Small_Town", "1:13", `"Small_Town" is no id`},
		{"unit twice", "id: engine-2", "id: engine-1", "16:10", "unit engine-1 is there twice; the first is on line 15"},
		{"station twice", "1 Main Street}", "1 Main Street}\n  - {id: station-1, name: Other}", "14:10", "station station-1 is there twice"},
		{"unknown station", "name: Engine 1, station: station-1", "name: Engine 1, station: staton-1", "15:45", `there is no station "staton-1" in this file; did you mean "station-1"?`},
		{"unknown unit", "unit: engine-1, seal", "unit: engine-8, seal", "24:21", `there is no unit "engine-8"`},
		{"unknown item", "{shove-knife: 1", "{shove-knive: 1", "22:11", `there is no item "shove-knive" in this file; did you mean "shove-knife"?`},
		{"unknown role", "roles: [lead]", "roles: [leader]", "26:48", `role: "leader" is not known; did you mean "lead"?`},
		{"guest with another role", "roles: [lead]", "roles: [lead, guest]", "26:47", "a guest has no other role"},
		{"unknown platoon", "platoon: A", "platoon: D", "26:80", `there is no platoon "D"`},
		{"platoon twice", "[A, B, C]", "[A, B, B]", "8:17", "platoon B is there twice"},
		{"unknown status", "name: Second One", "name: Second One, status: ill", "27:48", `status: "ill" is not known`},
		{"account of two people", "name: Second One", "name: Second One, accounts: {slack: U1}", "27:58", "slack account U1 is there twice; the first is on line 26"},
		{"bad zone", "zone: America/New_York", "zone: America/Nowhere", "3:7", `there is no time zone "America/Nowhere"`},
		{"the machine's zone", "zone: America/New_York", "zone: Local", "3:7", `there is no time zone "Local"`},
		{"bad currency", "zone: Am", "currency: dollars\nzone: Am", "3:11", "three capitals"},
		{"bad time", "change: 07:30", "change: 7h30", "10:11", `"7h30" is no time of day`},
		{"impossible time", "change: 07:30", "change: 24:30", "10:11", `"24:30" is no time of day`},
		{"bad hours", "21:00-07:00", "21:00", "5:10", `"21:00" are no hours`},
		{"empty hours", "21:00-07:00", "07:00-07:00", "5:10", "are no hours"},
		{"posts in quiet hours", "08:00-10:00", "06:00-10:00", "6:12", "reach into the quiet hours"},
		{"bad date", "start: 2026-01-01", "start: January 1st", "11:10", `"January 1st" is no date`},
		{"impossible date", "start: 2026-01-01", "start: 2026-02-30", "11:10", "there is no day 2026-02-30"},
		{"gap in the rotation", "pattern: 24/48", "pattern: XOOO", "9:12", "nobody is on duty from 2026-01-04 at 07:30"},
		{"overlap in the rotation", "pattern: 24/48", "pattern: XXO", "9:12", "A and C are on duty from 2026-01-01 at 07:30"},
		{"pattern of another size", "pattern: 24/48", "pattern: 24/72", "9:12", "for 4 platoons, and there are 3"},
		{"offsets of somebody else", "  start: 2026-01-01", "  start: 2026-01-01\n  offsets: {A: 0, B: 1, D: 2}", "12:25", `unknown key "D"`},
		{"negative price", "price: 24.00", "price: -24.00", "18:30", "-24.00 is negative"},
		{"price in words", "price: 24.00", "price: $24", "18:30", `"$24" is no amount`},
		{"price too exact", "price: 24.00", "price: 24.005", "18:30", "is no amount"},
		{"negative quantity", "shove-knife: 1", "shove-knife: -1", "22:24", "a whole number from 1 to 99"},
		{"half a piece", "shove-knife: 1", "shove-knife: 1.5", "22:24", "a whole number from 1 to 99"},
		{"list version missing", "  - version: 1\n    qty:", "  - qty:", "21:5", `list: the key "version" is missing`},
		{"list version not there", "seal: 004501", "list: 2", "24:37", `there is no list "2"`},
		{"bad version", "version: 1", "version: one", "21:14", "a whole number"},
		{"kit in two places", "unit: engine-1, seal", "unit: engine-1, shelf: station-1, seal", "24:38", "on a unit and on a shelf"},
		{"kit nowhere", "unit: engine-1, seal: 004501", "seal: 004501", "24:5", "say where it is"},
		{"two kits on a unit", "seal: 004501}", "seal: 004501}\n  - {id: k02, unit: engine-1}", "25:21", "engine-1 carries kit k01 already"},
		{"seal twice", "seal: 004501}", "seal: 004501}\n  - {id: k02, unit: engine-2, seal: 004501}", "25:37", "seal 004501 is there twice"},
		{"channel without station", "use: station, station: station-1", "use: station", "29:5", `needs the key "station"`},
		{"station of another channel", "use: station, station: station-1", "use: officers, station: station-1", "29:64", "only a station's channel has a station"},
		{"unknown use", "use: station, st", "use: statoin, st", "29:45", `"statoin" is not known; did you mean "station"?`},
		{"bad cron", "0 9 * * MON", "0 25 * * MON", "31:24", "hour: 25 is out of range"},
		{"never fires", "0 9 * * MON", "0 9 30 2 *", "31:24", "never comes round"},
		{"zone in cron", "0 9 * * MON", "TZ=UTC 0 9 * * MON", "31:24", "a zone in the spec"},
		{"too often", "0 9 * * MON", "*/5 9 * * MON", "31:24", "more often than every 6 hours (Mondays 09:00, 09:05, 09:10, … 09:55 (12 times))"},
		{"unknown kind", "due: check", "due: chek", "31:44", `"chek" is not known; did you mean "check"?`},
		{"units missing", ", units: all", "", "31:5", `the key "units" is missing`},
		{"units in words", "units: all", "units: some", "31:58", `write a list of units, or all, not "some"`},
		{"unit without a kit", "units: all", "units: [engine-2]", "31:59", "unit engine-2 carries no kit"},
		{"unit of an entry twice", "units: all", "units: [engine-1, engine-1]", "31:69", "unit engine-1 is there twice"},
		{"digest for units", "due: check", "due: digest", "31:59", "a digest is for the lead"},
		{"flag in words", "reserve: true", "reserve: maybe", "16:65", "write true or false"},
		{"bad rate", "units: all}", "units: all}\nbudget: {year-starts: 1 July, wishes-close: 15 March, tax: 0.06}", "32:60", "is no percentage"},
		{"rate above all", "units: all}", "units: all}\nbudget: {year-starts: 1 July, wishes-close: 15 March, tax: 600 %}", "32:60", "more than 100 %"},
		{"impossible day of the year", "units: all}", "units: all}\nbudget: {year-starts: 31 June, wishes-close: 15 March}", "32:23", `"31 June" is no day of the year`},
		{"anchor", "quiet: 21:00-07:00", "quiet: &q 21:00-07:00", "5:10", "anchors (&) and aliases (*) are not read"},
		{"alias", "name: Small Town", "name: *town", "2:7", "anchors (&) and aliases (*) are not read"},
		{"tag", "name: Small Town", "name: !!str Small Town", "2:7", "tags (!) are not read"},
		{"merge key", "hours:\n", "hours:\n  <<: {quiet: 21:00-07:00}\n", "5:3", "merge keys (<<) are not read"},
		{"second document", "units: all}\n", "units: all}\n---\nname: Other\n", "33:1", "a second document begins here"},
		{"YAML syntax", "names: [A, B, C]", "names: [A, B, C", "9:3", "this is not YAML as it stands"},
		{"tab", "  quiet: 21", "\tquiet: 21", "5:1", "this is not YAML as it stands"},
		{"not UTF-8", "Small Town", "Sm\xe5ll Town", "2:9", "this is not UTF-8 text"},
		{"control character", "Small Town", "Small\x01Town", "2:12", "control character (U+0001)"},
		{"column counts characters", "name: Engine 1, station: station-1", "name: Éngïne 1, station: staton-1", "15:45", `there is no station "staton-1"`},
		{"long line", "Small Town", strings.Repeat("long ", 500), "2:2001", "more than the 2000 that are read"},
		{"dashes in a row", "Small Town", "\n" + strings.Repeat("- ", 40) + "x", "3:1", "more than 32 lists begin in one line"},
		{"deep indents", "name: Small Town\n", stairs(40), "34:33", "more than 32 levels deep"},
		{"endless group", "name: Small Town\n", strings.Repeat("name: x\n", 6000), "5001:1", "more than 5000 parts of one group"},
		{"endless list in brackets", "name: Small Town", "name: [" + strings.Repeat("a,\n ", 6000) + "]", "5002:3", "more than 5000 parts"},
		{"deep nesting", "Small Town", strings.Repeat("[", 40), "2:39", "more than 32 brackets"},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := strings.Replace(good, row.old, row.new, 1)
			if text == good {
				t.Fatal("the row breaks nothing")
			}
			d, problems := load(text)
			if d != nil || problems.Err() == nil {
				t.Fatal("the mistake was taken")
			}
			for _, p := range problems {
				if fmt.Sprintf("%d:%d", p.Line, p.Column) == row.at && strings.Contains(p.Say, row.says) {
					return
				}
			}
			t.Errorf("want %s: %s; got\n%s", row.at, row.says, problems)
		})
	}
}

// stairs is a key in a key, so many deep.
func stairs(deep int) string {
	var b strings.Builder
	for i := range deep {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

// One run names them all, in the order of the file, and shows line and caret.
func TestAllMistakesAtOnce(t *testing.T) {
	text := strings.NewReplacer("  quiet: 21", "  quite: 21", "24.00", "-24", "due: check", "due: chek").Replace(good)
	_, problems := load(text)
	want := `department.yaml:5:3: unknown key "quite"; did you mean "quiet"?
  5 |   quite: 21:00-07:00
    |   ^
department.yaml:5:3: hours: the key "quiet" is missing
  5 |   quite: 21:00-07:00
    |   ^
department.yaml:18:30: price: -24 is negative
  18 |   - {id: shove-knife, price: -24}
     |                              ^
department.yaml:31:44: due: "chek" is not known; did you mean "check"? (one of check, drill, digest)
  31 |   - {id: weekly, cron: "0 9 * * MON", due: chek, units: all}
     |                                            ^`
	if diff := cmp.Diff(want, problems.String()); diff != "" {
		t.Log(problems)
		t.Error(diff)
	}
}

func TestWholeFileProblems(t *testing.T) {
	for _, row := range []struct{ name, text, says string }{
		{"empty", "", "the file is empty"},
		{"only comments", "# nothing\n", "the file is empty"},
		{"too large", strings.Repeat("# more\n", 200_000), "more than the 1048576 that are read"},
		{"a list", "- a\n- b\n", "a group of keys is needed here, not a list"},
		{"a word", "hello\n", "a group of keys is needed here, not a single value"},
	} {
		t.Run(row.name, func(t *testing.T) {
			if d, problems := load(row.text); d != nil || len(problems) == 0 || !strings.Contains(problems[0].Say, row.says) {
				t.Errorf("got %v", problems)
			}
		})
	}
	if _, problems := department.Load(fstest.MapFS{}, department.FileName); len(problems) != 1 || !strings.Contains(problems[0].String(), "department.yaml: there is no such file") {
		t.Errorf("no file: %v", problems)
	}
}

func TestManyProblemsAreCut(t *testing.T) {
	text := good + "forbids:\n" + strings.Repeat("  - NO\n", 1000)
	_, problems := load(text)
	if len(problems) != 201 || !strings.Contains(problems[200].Say, "and 800 more") {
		t.Errorf("%d problems", len(problems))
	}
}

func TestWarnings(t *testing.T) {
	text := strings.NewReplacer("roles: [lead]", "roles: [officer]", "use: station, station: station-1", "use: officers").Replace(good)
	d, problems := load(text)
	if d == nil || problems.Err() != nil {
		t.Fatal(problems)
	}
	if len(problems) != 2 || !strings.Contains(problems.String(), "warning: station-1 has a kit but no channel: its crews get no posts") {
		t.Errorf("got %v", problems)
	}
	early, _ := load(strings.Replace(good, "0 9 * * MON", "30 2 * * SUN", 1))
	if got := early.ClockWarnings(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)); len(got) != 2 || !strings.HasPrefix(got[0], "entry weekly: Sun 8 Mar 2026 02:30 is removed") {
		t.Errorf("got %v", got)
	}
}

func TestKnownCards(t *testing.T) {
	loader := department.Loader{Items: []string{"shove-knife"}, Techniques: []string{"slip-outward"}, Topics: []string{"slip-outward"}}
	text := strings.Replace(good, "due: check", "due: drill, topic: slip-outwards", 1) + "forbids: [slip-inward]\n"
	_, problems := loader.Parse(department.FileName, []byte(text))
	for i, want := range []string{"item wood-wedge has no tool card", `topic: there is no card "slip-outwards"; did you mean "slip-outward"?`, `technique: there is no card "slip-inward"`} {
		if i >= len(problems) || !strings.Contains(problems[i].Say, want) {
			t.Fatalf("want %q in\n%s", want, problems)
		}
	}
}

func TestLoadAll(t *testing.T) {
	file := func(slug string) *fstest.MapFile {
		return &fstest.MapFile{Data: []byte(strings.Replace(good, "small-town", slug, 1))}
	}
	for _, row := range []struct {
		name string
		fsys fstest.MapFS
		want []string
		says string
	}{
		{"one", fstest.MapFS{"department.yaml": file("a")}, []string{"a"}, ""},
		{"several", fstest.MapFS{"north/department.yaml": file("n"), "south/department.yaml": file("s")}, []string{"n", "s"}, ""},
		{"none", fstest.MapFS{"readme": file("a")}, nil, "there is no such file here"},
		{"one and several", fstest.MapFS{"department.yaml": file("a"), "south/department.yaml": file("s")}, nil, "there is one here and one in south"},
		{"one slug twice", fstest.MapFS{"x/department.yaml": file("a"), "y/department.yaml": file("a")}, nil, `the department "a" is in x/department.yaml too`},
		{"one broken", fstest.MapFS{"x/department.yaml": file("a"), "y/department.yaml": file("B")}, nil, "is no id"},
	} {
		t.Run(row.name, func(t *testing.T) {
			all, problems := department.LoadAll(row.fsys)
			var got []string
			for _, d := range all {
				got = append(got, d.Slug)
			}
			if !cmp.Equal(got, row.want) || !strings.Contains(problems.String(), row.says) {
				t.Errorf("got %v, %v", got, problems)
			}
		})
	}
}

func TestStart(t *testing.T) {
	for _, row := range []struct{ given, slug, name string }{
		{"Tarn Harbor Fire Department", "tarn-harbor", "Tarn Harbor Fire Department"},
		{"", "your", "Your Fire Department"},
		{"  ", "your", "Your Fire Department"},
		{"Ørsund", "rsund", "Ørsund"},
		{"東消防", "department", "東消防"},
		{"A \"quoted\": name # 1\n\x00", "a-quoted-name-1", `A "quoted": name # 1`},
		{strings.Repeat("Very Long ", 60), "very-long-very-long-very-long-very-long-very-lon", strings.TrimSpace(strings.Repeat("Very Long ", 20))},
	} {
		t.Run(row.given, func(t *testing.T) {
			d, problems := load(string(department.Start(row.given)))
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			if d.Slug != row.slug || d.Name != row.name {
				t.Errorf("slug %q, name %q", d.Slug, d.Name)
			}
		})
	}
}

func TestLookups(t *testing.T) {
	d := demo.Department()
	if u, ok := d.Unit("tower-6"); !ok || u.Type != "tower" || u.Number != 6 {
		t.Errorf("unit %+v", u)
	}
	if _, ok := d.Unit("tower-9"); ok {
		t.Error("a unit that is not there was found")
	}
	if s, _ := d.Station("station-7"); s.Name != "7 Airfield" {
		t.Errorf("station %+v", s)
	}
	if i, _ := d.Item("latch-film"); i.Cents != 1900 {
		t.Errorf("item %+v", i)
	}
	if got := len(d.UnitsAt("station-5")); got != 2 {
		t.Errorf("%d units at station 5", got)
	}
	if got := d.ReserveUnits(); len(got) != 1 || got[0].ID != "engine-11" {
		t.Errorf("reserve %v", got)
	}
	if got := len(d.KitUnits()); got != 11 {
		t.Errorf("%d units with a kit", got)
	}
	k, _ := d.KitOf("tower-6")
	if l, ok := d.ListOf(k); !ok || l.Version != 2 {
		t.Errorf("list of %s: %d", k.ID, l.Version)
	}
	lead := d.MembersWith(department.Lead)
	if len(lead) != 1 || lead[0].ID != "ines-okafor" || !lead[0].May(department.Quartermaster) || lead[0].Has(department.Quartermaster) {
		t.Errorf("lead %+v", lead)
	}
	if guest, _ := d.Member("guest"); guest.May(department.Crew) {
		t.Error("a guest may what a member may")
	}
	c, ok := d.Channel("console", department.StationChannel, "station-4")
	if at, again := d.ChannelAt(c.Address()); !ok || !again || at != c {
		t.Errorf("channel %+v", c)
	}
	if _, ok := d.ChannelAt(bot.Address{Platform: "console", Channel: "nowhere"}); ok {
		t.Error("a channel that is not there was found")
	}
	small, _ := load(good)
	if m, ok := small.MemberByAccount("slack", "U1"); !ok || m.ID != "first-lead" {
		t.Errorf("member %+v", m)
	}
	if _, ok := small.MemberByAccount("slack", ""); ok {
		t.Error("no account is somebody's")
	}
}

func FuzzLoad(f *testing.F) {
	f.Add(good)
	f.Add(string(department.Start("")))
	f.Add("a: &a [*a, *a]\nb: !!binary x\n? [c]\n: d\n<<: *a\n")
	f.Add("- - - -\n--- |\n  x\n...\n")
	f.Fuzz(func(t *testing.T, text string) {
		d, problems := load(text)
		if (d == nil) != (problems.Err() != nil) {
			t.Fatalf("department %v, problems %v", d, problems)
		}
		for _, p := range problems {
			if p.Say == "" || p.Line < 0 || p.Line > strings.Count(text, "\n")+1 {
				t.Errorf("problem %+v", p)
			}
		}
	})
}

func BenchmarkLoadDemo(b *testing.B) {
	for b.Loop() {
		if _, problems := department.Load(demo.FS(), department.FileName); len(problems) > 0 {
			b.Fatal(problems)
		}
	}
}
