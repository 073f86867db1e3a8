package understand

import (
	"fmt"
	"kitbell/bot/department"
	"os"
	"testing"
)

func TestDebug(t *testing.T) {
	r, err := New(&department.Department{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	text := os.Getenv("TEXT")
	s := r.sheet(text, Context{})
	for _, m := range s.marks {
		fmt.Print(m.kind, " ", s.raw(m), " c", m.clause, " ")
		for _, x := range m.senses {
			fmt.Print(x.kind, x.items, x.status, x.facts)
		}
		fmt.Println()
	}
	for _, h := range s.cueHits {
		fmt.Println(h.intent, s.text[s.tokens[h.from].from:s.tokens[h.to-1].to], h.asked)
	}
}

func TestSingles(t *testing.T) {
	r, _ := New(&department.Department{}, nil)
	m := matcher{skip: r.words.skip}
	for w := range r.words.names {
		if w == 0 {
			continue
		}
		m.cells = []cell{{words: [3]wordID{wordID(w)}}}
		senses, end := m.at(r.things, 0, nil)
		if end == 1 {
			for _, x := range senses {
				fmt.Println("T", r.words.names[w], x.kind, x.items, x.status, x.facts)
			}
		}
		senses, end = m.at(r.cues, 0, nil)
		if end == 1 {
			for _, x := range senses {
				fmt.Println("C", r.words.names[w], x.cue.intent)
			}
		}
	}
}

func TestEvents(t *testing.T) {
	r, _ := New(&department.Department{}, nil)
	s := r.sheet(os.Getenv("TEXT"), Context{Unit: "engine-4"})
	for _, e := range s.events() {
		fmt.Printf("%+v %+v\n", e.mention, e.saying)
	}
	fmt.Printf("%+v\n", r.Read(os.Getenv("TEXT"), Context{Unit: "engine-4"}))
}
