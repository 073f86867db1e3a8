package pocket

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot/door"
	"kitbell/knowledge/drawing"
)

//go:embed look
var look embed.FS

// marks says what a step leaves behind, by its mark.
var marks = [door.Marks]string{"no mark", "a scuff", "a scar", "the lock is lost", "the door or frame is lost"}

// page is what the template sees.
type page struct {
	*Pocket
	Nodes  []*Node
	Plans  []door.Plan // each once; the leaves share them
	Style  template.CSS
	Script template.JS
}

// HTML writes the page: one file, which asks nothing of any network.
func (p *Pocket) HTML(w io.Writer) error {
	inks, plans := newInks(), sharePlans(p.Tree)
	t, err := template.New("page.html").Funcs(template.FuncMap{
		"doors": doorsText, "number": func(n *Node) int { return len(n.Path) + 1 },
		"title": p.titleOf, "tools": p.toolNames, "figures": figures, "drawing": inks.figure, "planOf": plans.of,
	}).ParseFS(look, "look/page.html")
	if err != nil {
		return fmt.Errorf("read page: %w", err)
	}
	css, cssErr := look.ReadFile("look/page.css")
	js, jsErr := look.ReadFile("look/page.js")
	if cssErr != nil || jsErr != nil {
		return fmt.Errorf("read page's style: %v, %v", cssErr, jsErr)
	}
	if err := inks.learn(p.Techniques); err != nil {
		return err
	}
	view := page{p, slices.Collect(p.Tree.All), plans.all, template.CSS(inks.style() + string(css) + plans.style()), template.JS(js)}
	if err := t.Execute(w, view); err != nil {
		return fmt.Errorf("write page: %w", err)
	}
	return nil
}

// sharedPlans are the plans of all leaves, each once: several hundred leaves
// come to about a hundred plans.
type sharedPlans struct {
	all   []door.Plan
	byKey map[string]int
}

func sharePlans(tree *Node) *sharedPlans {
	s := &sharedPlans{byKey: make(map[string]int)}
	for n := range tree.All {
		key := planKey(n.Plan)
		if _, ok := s.byKey[key]; n.Leaf() && !ok {
			s.byKey[key] = len(s.all)
			s.all = append(s.all, n.Plan)
		}
	}
	return s
}

// of is the number of a leaf's plan.
func (s *sharedPlans) of(n *Node) int { return s.byKey[planKey(n.Plan)] }

// style shows a plan with whichever of its leaves is shown.
func (s *sharedPlans) style() string {
	shown := make([]string, len(s.all))
	for i := range s.all {
		shown[i] = fmt.Sprintf(".l%d:target~.p%d", i, i)
	}
	return strings.Join(shown, ",") + "{display:block}\n"
}

// doorsText writes the doors that a plan is for: facts divided by blanks, doors
// by "|". It lets a test ask the planner about the same doors.
func doorsText(n *Node) string {
	doors := make([]string, len(n.Doors))
	for i, f := range n.Doors {
		var facts []string
		for _, fact := range door.AllFacts() {
			if v := f.Value(fact); v != "" {
				facts = append(facts, string(fact)+"="+v)
			}
		}
		doors[i] = strings.Join(facts, " ")
	}
	return strings.Join(doors, "|")
}

func (p *Pocket) titleOf(technique string) string {
	for _, t := range p.Techniques {
		if t.ID == technique {
			return t.Title
		}
	}
	return technique
}

func (p *Pocket) toolNames(ids []string) string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = id
		if at := slices.IndexFunc(p.Tools, func(t Tool) bool { return t.ID == id }); at >= 0 {
			names[i] = strings.ToLower(p.Tools[at].Name)
		}
	}
	return strings.Join(names, ", ")
}

// figures says what a step takes, labelled as the assumption that it is. Steps
// before and after the opening leave no mark to speak of.
func figures(s door.Step) string {
	words := []string{"assumed: " + strconv.FormatFloat(s.Minutes, 'g', -1, 64) + " min"}
	if s.Tries > 1 {
		words = append(words, fmt.Sprintf("%d tries", s.Tries))
	}
	if s.People > 1 {
		words = append(words, fmt.Sprintf("%d people", s.People))
	}
	if s.Kind == door.Attempt || s.Kind == door.Prepare {
		words = append(words, marks[s.Mark])
	}
	return strings.Join(words, ", ")
}

// inks gives every colour of the drawings a variable, so that one drawing
// serves light and dark: both are drawn, and differ in nothing but colours.
type inks struct {
	names map[string]string // light and dark colour → variable
	order []string
	drawn map[string]template.HTML // by technique
}

var inkPattern = regexp.MustCompile(`#[0-9A-Fa-f]{6}`)

func newInks() *inks {
	return &inks{names: make(map[string]string), drawn: make(map[string]template.HTML)}
}

func (k *inks) learn(techniques []Technique) error {
	for _, t := range techniques {
		if !t.Drawn {
			continue
		}
		light, err := t.Scene.SVG(drawing.Options{})
		if err != nil {
			return fmt.Errorf("draw %s: %w", t.ID, err)
		}
		dark, err := t.Scene.SVG(drawing.Options{Dark: true})
		if err != nil {
			return fmt.Errorf("draw %s in dark: %w", t.ID, err)
		}
		svg, err := k.merge(string(light), string(dark))
		if err != nil {
			return fmt.Errorf("draw %s in both: %w", t.ID, err)
		}
		label := template.HTMLEscapeString(t.Scene.Alt())
		k.drawn[t.ID] = template.HTML(strings.Replace(svg, "<svg ", `<svg aria-label="`+label+`" `, 1))
	}
	return nil
}

func (k *inks) merge(light, dark string) (string, error) {
	others := inkPattern.FindAllString(dark, -1)
	if inkPattern.ReplaceAllString(light, "") != inkPattern.ReplaceAllString(dark, "") {
		return "", fmt.Errorf("light and dark differ in more than colours")
	}
	i := -1
	return inkPattern.ReplaceAllStringFunc(light, func(colour string) string {
		i++
		return "var(" + k.name(colour+" "+others[i]) + ")"
	}), nil
}

func (k *inks) name(pair string) string {
	name, ok := k.names[pair]
	if !ok {
		name = fmt.Sprintf("--ink%d", len(k.order))
		k.names[pair] = name
		k.order = append(k.order, pair)
	}
	return name
}

// style declares the variables for both schemes.
func (k *inks) style() string {
	var light, dark strings.Builder
	for _, pair := range k.order {
		day, night, _ := strings.Cut(pair, " ")
		fmt.Fprintf(&light, "%s:%s;", k.names[pair], day)
		fmt.Fprintf(&dark, "%s:%s;", k.names[pair], night)
	}
	return ":root{" + light.String() + "}\n@media (prefers-color-scheme:dark){:root{" + dark.String() + "}}\n"
}

// figure is a technique's drawing, or nothing.
func (k *inks) figure(t Technique) template.HTML {
	if !t.Drawn {
		return ""
	}
	return "<figure>" + k.drawn[t.ID] + "</figure>"
}
