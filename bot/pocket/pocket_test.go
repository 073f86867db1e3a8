package pocket_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"kitbell/bot/door"
	"kitbell/bot/pocket"
	"kitbell/knowledge"
	"kitbell/testdata/demo"
)

// remembering asks a planner once for each door: the tests compare the page
// with the planner's answers, and a door takes a tenth of a second.
type remembering struct {
	*door.Planner
	plans map[string]door.Plan
}

func (r *remembering) Plan(request door.Request) (door.Plan, error) {
	key, err := json.Marshal(request)
	if err != nil {
		return door.Plan{}, err
	}
	if plan, ok := r.plans[string(key)]; ok {
		return plan, nil
	}
	plan, err := r.Planner.Plan(request)
	r.plans[string(key)] = plan
	return plan, err
}

// source is what the demo department's guide for a list is made of.
func source(version int) (pocket.Source, error) {
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		return pocket.Source{}, problems[0]
	}
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		return pocket.Source{}, err
	}
	var techniques []door.Technique
	for _, c := range library.All() {
		if len(c.Plan) > 0 {
			t, err := door.ParseTechnique(c.ID, c.Title, c.Plan)
			if err != nil {
				return pocket.Source{}, err
			}
			techniques = append(techniques, t)
		}
	}
	planner, err := door.NewPlanner(assumptions, techniques)
	if err != nil {
		return pocket.Source{}, err
	}
	d := demo.Department()
	list, _ := d.List(version)
	return pocket.Source{
		Department: d.Name, List: list, Rig: d.OnEvery, Library: library, Planner: &remembering{planner, make(map[string]door.Plan)},
		Limit: assumptions.LimitMinutes, Made: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC),
	}, nil
}

// made is a guide with what it was made of and the page written.
type made struct {
	source pocket.Source
	pocket *pocket.Pocket
	page   string
	err    error
}

func makeGuide(version int) made {
	m := made{}
	if m.source, m.err = source(version); m.err != nil {
		return m
	}
	// The test's own context ends with the first test; the guide serves them all.
	if m.pocket, m.err = pocket.New(context.Background(), m.source); m.err != nil {
		return m
	}
	var page bytes.Buffer
	m.err = m.pocket.HTML(&page)
	m.page = page.String()
	return m
}

// lists are the guides of the demo's first list, which has no under-door tool,
// and of the one in force. Each takes seconds and is made once.
var lists = map[int]func() made{
	1: sync.OnceValue(func() made { return makeGuide(1) }),
	3: sync.OnceValue(func() made { return makeGuide(3) }),
}

func guideOf(t *testing.T, version int) made {
	t.Helper()
	m := lists[version]()
	if m.err != nil {
		t.Fatal(m.err)
	}
	return m
}

var (
	screenPattern = regexp.MustCompile(`(?s)<section class="screen([^"]*)" id="([^"]+)"[^>]*>(.*?)</section>`)
	leafPattern   = regexp.MustCompile(`id="([^"]+)" tabindex="-1" aria-labelledby="[^"]+" data-doors="([^"]*)" data-plan="([^"]+)"`)
	planPattern   = regexp.MustCompile(`(?s)<div class="plan [^"]*" id="([^"]+)">(.*?)</div>\n`)
	wayPattern    = regexp.MustCompile(`data-way="([^"]+)"`)
	answerPattern = regexp.MustCompile(`<li><a href="#([^"]+)">`)
	stepPattern   = regexp.MustCompile(`(?s)<li data-way=.*?</li>`)
)

// leaf is a plan's screen as it stands on the page.
type leaf struct {
	doors []string
	steps []string // each step's part of the page
}

// read walks the page from its start through every answer and gives what it
// comes to, with the most questions that were asked on the way.
func read(t *testing.T, page string) (leaves map[string]leaf, depth int) {
	t.Helper()
	screens, plans := make(map[string]string), make(map[string][]string)
	for _, m := range screenPattern.FindAllStringSubmatch(page, -1) {
		screens[m[2]] = m[3]
	}
	for _, m := range planPattern.FindAllStringSubmatch(page, -1) {
		plans[m[1]] = stepPattern.FindAllString(m[2], -1)
	}
	found := make(map[string]leaf)
	for _, m := range leafPattern.FindAllStringSubmatch(page, -1) {
		found[m[1]] = leaf{strings.Split(m[2], "|"), plans[m[3]]}
	}
	leaves = make(map[string]leaf)
	var walk func(id string, asked int)
	walk = func(id string, asked int) {
		if l, ok := found[id]; ok {
			leaves[id] = l
			depth = max(depth, asked)
			return
		}
		answers := answerPattern.FindAllStringSubmatch(screens[id], -1)
		if len(answers) < 2 {
			t.Fatalf("screen %q asks and offers %d answers", id, len(answers))
		}
		for _, a := range answers {
			walk(a[1], asked+1)
		}
	}
	walk("start", 0)
	if len(leaves) != len(found) {
		t.Errorf("%d plans can be reached of %d on the page", len(leaves), len(found))
	}
	return leaves, depth
}

func factsOf(t *testing.T, text string) door.Facts {
	t.Helper()
	var f door.Facts
	for _, word := range strings.Fields(text) {
		fact, value, _ := strings.Cut(word, "=")
		if err := f.Set(door.Fact(fact), value); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// Every leaf of the page, walked from its start, shows what the planner says
// about that door with the complete kit: the same steps in the same order, with
// their move and their caution.
func TestLeavesAgreeWithThePlanner(t *testing.T) {
	for version := range lists {
		t.Run(fmt.Sprint("list ", version), func(t *testing.T) {
			m := guideOf(t, version)
			leaves, depth := read(t, m.page)
			if depth != pocket.MostQuestions {
				t.Errorf("%d questions at most, want %d", depth, pocket.MostQuestions)
			}
			if len(leaves) < 300 {
				t.Errorf("only %d plans", len(leaves))
			}
			for id, l := range leaves {
				for _, text := range l.doors {
					compareLeaf(t, m.source, id, l.steps, factsOf(t, text))
				}
			}
		})
	}
}

func compareLeaf(t *testing.T, s pocket.Source, id string, shown []string, facts door.Facts) {
	t.Helper()
	plan, err := s.Planner.Plan(pocket.Request(s, facts))
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Contradictions) > 0 {
		t.Errorf("leaf %s: the answers contradict each other: %s", id, plan.Contradictions[0].Say)
	}
	if len(shown) != len(plan.Steps) {
		t.Errorf("leaf %s shows %d steps, the planner gives %d", id, len(shown), len(plan.Steps))
		return
	}
	for i, step := range plan.Steps {
		text := html.UnescapeString(shown[i])
		if got := wayPattern.FindStringSubmatch(shown[i])[1]; got != step.Way() {
			t.Errorf("leaf %s, step %d: %s, the planner says %s", id, i+1, got, step.Way())
		}
		for _, words := range []string{step.Title, step.Move, step.Caution} {
			if !strings.Contains(text, words) {
				t.Errorf("leaf %s, step %d does not say %q", id, i+1, words)
			}
		}
	}
}

// The planner's requests name every tool of the list and of the rig, none else.
func TestRequestHasTheCompleteKit(t *testing.T) {
	m := guideOf(t, 1)
	r := pocket.Request(m.source, door.Facts{})
	if _, there := r.Tools["under-door-lever"]; there || len(r.Tools) != len(m.source.List.Lines)+len(m.source.Rig) {
		t.Errorf("tools of list 1: %v", r.Tools)
	}
	if strings.Contains(m.page, `data-way="lever-under-door"`) {
		t.Error("list 1 has no under-door tool, and a plan uses it")
	}
}

func TestForbiddenIsLeftOut(t *testing.T) {
	s, err := source(3)
	if err != nil {
		t.Fatal(err)
	}
	s.Barred = []string{"glass-last"}
	plan, err := s.Planner.Plan(pocket.Request(s, factsOf(t, "swing=sliding lock=narrow-stile glass=true")))
	if err != nil {
		t.Fatal(err)
	}
	if slices.ContainsFunc(plan.Steps, func(step door.Step) bool { return step.Technique == "glass-last" }) {
		t.Error("a forbidden technique is planned")
	}
}

func TestPage(t *testing.T) {
	m := guideOf(t, 3)
	if len(m.page) > 1_500_000 {
		t.Errorf("%d bytes, want 1.5 MB at most", len(m.page))
	}
	for _, words := range []string{
		"kit list 3", "2 March 2026", m.source.Department, "assumed: ", "Lawful authority", "officer in charge", "Local policy",
		"prefers-color-scheme:dark", `lang="en"`, "Shove knife", "Wood wedge, 4 pieces",
	} {
		if !strings.Contains(m.page, words) {
			t.Errorf("the page does not say %q", words)
		}
	}
	if outside := regexp.MustCompile(`(src|href)="(https?:|//)[^"]*"|url\(|@import`).FindString(m.page); outside != "" {
		t.Errorf("the page asks for %s", outside)
	}
	for _, stop := range m.pocket.Guide.Stops {
		if !strings.Contains(html.UnescapeString(m.page), stop) {
			t.Errorf("the page leaves out %q", stop)
		}
	}
}

// Every technique that a plan names is on the page with its steps, its cautions
// and its drawing.
func TestTechniquesAreDrawn(t *testing.T) {
	m := guideOf(t, 3)
	for _, technique := range m.pocket.Techniques {
		if !technique.Drawn {
			t.Errorf("%s has no drawing", technique.ID)
		}
		if len(technique.Steps) == 0 || len(technique.Cautions) == 0 {
			t.Errorf("%s has no steps or no cautions", technique.ID)
		}
		if !strings.Contains(m.page, `id="t-`+technique.ID+`"`) {
			t.Errorf("%s is not on the page", technique.ID)
		}
	}
	if got := strings.Count(m.page, "<svg aria-label="); got != len(m.pocket.Techniques) {
		t.Errorf("%d drawings for %d techniques", got, len(m.pocket.Techniques))
	}
}

func TestToolsSayWhatTheyAreFor(t *testing.T) {
	for _, tool := range guideOf(t, 3).pocket.Tools {
		if n := len(strings.Fields(tool.For)); n == 0 || n > 10 || tool.Name == "" {
			t.Errorf("%s: %q is for %q, want one to ten words", tool.ID, tool.Name, tool.For)
		}
	}
}

// What the guide itself says reads at grade 8 or below.
func TestReadingGrade(t *testing.T) {
	p := guideOf(t, 3).pocket
	var sentences []string
	add := func(texts ...string) {
		for _, text := range texts {
			sentences = append(sentences, knowledge.Sentences(text)...)
		}
	}
	add(p.Guide.Stops...)
	add(p.Guide.Before...)
	add(p.Guide.Authority...)
	add(p.Guide.Plan.Routine, p.Guide.Plan.Complete, p.Guide.Plan.Force, p.Guide.Plan.Tries)
	for n := range p.Tree.All {
		add(n.Ask, n.Hint)
	}
	for _, tool := range p.Tools {
		add(tool.For)
	}
	if grade := knowledge.Grade(sentences, nil); grade > knowledge.MaxGrade {
		t.Errorf("reading grade %.1f, want %.0f at most", grade, knowledge.MaxGrade)
	}
}

func TestSheet(t *testing.T) {
	tests := []struct{ paper, box string }{
		{pocket.Letter, "/MediaBox [0 0 792.00 612.00]"},
		{pocket.A4, "/MediaBox [0 0 841.89 595.28]"},
	}
	m := guideOf(t, 3)
	for _, tt := range tests {
		t.Run(tt.paper, func(t *testing.T) {
			var out bytes.Buffer
			if err := m.pocket.PDF(&out, tt.paper); err != nil {
				t.Fatal(err)
			}
			text := out.String()
			if sides := len(regexp.MustCompile(`/Type /Page\n`).FindAllString(text, -1)); sides != 2 {
				t.Errorf("%d sides, want one sheet's two", sides)
			}
			if !strings.Contains(text, tt.box) {
				t.Errorf("the paper is not %s", tt.box)
			}
			if strings.Count(text, "/Subtype /Image") < 2 {
				t.Error("a drawing is missing")
			}
			if !strings.Contains(text, "D:20260302") {
				t.Error("the date is not that of the guide")
			}
		})
	}
}

// The sheet's doors agree with the planner too.
func TestSheetAgreesWithThePlanner(t *testing.T) {
	m := guideOf(t, 1)
	for _, d := range m.pocket.Doors {
		plan, err := m.source.Planner.Plan(pocket.Request(m.source, d.Facts))
		if err != nil {
			t.Fatal(err)
		}
		if len(plan.Contradictions) > 0 {
			t.Errorf("%s: %s", d.Say, plan.Contradictions[0].Say)
		}
		ways := func(p door.Plan) (all []string) {
			for _, step := range p.Steps {
				all = append(all, step.Way())
			}
			return all
		}
		if !slices.Equal(ways(plan), ways(d.Plan)) {
			t.Errorf("%s: %v, the planner says %v", d.Say, ways(d.Plan), ways(plan))
		}
	}
}

// A list longer than the panel is printed smaller, and a much longer one is
// refused rather than cut off.
func TestLongLists(t *testing.T) {
	m := guideOf(t, 3)
	tests := []struct {
		name  string
		tools int
		fails bool
	}{
		{"as in the demo", 27, false},
		{"half again", 40, false},
		{"far too many", 400, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := *m.pocket
			p.Tools = slices.Repeat(p.Tools[:1], tt.tools)
			var out bytes.Buffer
			if err := p.PDF(&out, pocket.Letter); (err != nil) != tt.fails {
				t.Errorf("%d tools: %v", tt.tools, err)
			}
		})
	}
}

// A second writing gives the same bytes: a page can be compared with the one on
// the rig.
func TestSameBytes(t *testing.T) {
	m := guideOf(t, 3)
	var again bytes.Buffer
	if err := m.pocket.HTML(&again); err != nil {
		t.Fatal(err)
	}
	if again.String() != m.page {
		t.Error("the page differs from one writing to the next")
	}
}
