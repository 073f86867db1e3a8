package training_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/training"
	"kitbell/schedule"
)

const day = 24 * time.Hour

var now = time.Date(2026, 11, 28, 9, 0, 0, 0, time.UTC)

var chooser = training.Chooser{Model: schedule.DefaultMemoryModel(), Policy: training.DefaultPolicy()}

// topic is one with a card for each kind named.
func topic(id string, kinds ...training.DrillKind) training.Topic {
	t := training.Topic{ID: id, Cards: map[training.DrillKind]string{}}
	for _, kind := range kinds {
		t.Cards[kind] = "drill-" + id
	}
	return t
}

func must(t training.Topic) training.Topic { t.Must = true; return t }

func with(t training.Topic, tools ...string) training.Topic { t.Tools = tools; return t }

// drilled is a topic drilled once, so many days ago.
func drilled(days int, stability float64) training.History {
	return training.History{Memory: schedule.Memory{Stability: stability, Difficulty: 5, Last: now.Add(-time.Duration(days) * day)}, Drills: 1}
}

const (
	hands  = training.HandsOnDrill
	decide = training.DecideDrill
	recall = training.RecallDrill
)

func TestNext(t *testing.T) {
	film, fork, plunger := topic("film", hands), topic("fork", hands), topic("plunger", hands)
	worth := func(w map[string]float64) func(string) float64 {
		return func(topic string) float64 { return w[topic] }
	}
	for _, row := range []struct {
		name string
		ask  training.Ask
		want string // topic kind why; "" for none
	}{
		{"nothing to train", training.Ask{}, ""},
		{"one task by hand is not given again for another topic", training.Ask{
			Topics: []training.Topic{film, plunger},
			Had:    []training.Drill{{Topic: "other", Kind: hands, Card: "drill-film"}},
		}, "plunger hands-on forgotten"},
		{"never drilled before drilled", training.Ask{
			Topics: []training.Topic{film, fork},
			Past:   map[string]training.History{"film": drilled(10, 20)},
		}, "fork hands-on forgotten"},
		{"the one that has faded most", training.Ask{
			Topics: []training.Topic{film, fork},
			Past:   map[string]training.History{"film": drilled(10, 20), "fork": drilled(10, 2)},
		}, "fork hands-on forgotten"},
		{"what costs more to forget", training.Ask{
			Topics: []training.Topic{film, fork},
			Past:   map[string]training.History{"film": drilled(10, 20), "fork": drilled(10, 2)},
			Worth:  worth(map[string]float64{"film": 9, "fork": 0.5}),
		}, "film hands-on forgotten"},
		{"a worth that is none counts nothing", training.Ask{
			Topics: []training.Topic{film, fork, plunger},
			Worth:  worth(map[string]float64{"film": math.NaN(), "fork": -4, "plunger": 0.1}),
		}, "plunger hands-on forgotten"},
		{"a tie goes by name", training.Ask{Topics: []training.Topic{fork, film}}, "film hands-on forgotten"},
		{"a new tool first", training.Ask{
			Topics: []training.Topic{film, with(fork, "thumbturn-fork")},
			Since:  map[string]time.Time{"thumbturn-fork": now.Add(-5 * day)},
			Past:   map[string]training.History{"fork": drilled(10, 300)},
		}, "fork hands-on new tool"},
		{"a new tool that was drilled since is like others", training.Ask{
			Topics: []training.Topic{film, with(fork, "thumbturn-fork")},
			Since:  map[string]time.Time{"thumbturn-fork": now.Add(-15 * day)},
			Past:   map[string]training.History{"fork": drilled(10, 300)},
		}, "film hands-on forgotten"},
		{"a tool is not new for ever", training.Ask{
			Topics: []training.Topic{film, with(fork, "thumbturn-fork")},
			Since:  map[string]time.Time{"thumbturn-fork": now.Add(-61 * day)},
		}, "film hands-on forgotten"},
		{"a tool that is still to come", training.Ask{
			Topics: []training.Topic{film, with(fork, "thumbturn-fork")},
			Since:  map[string]time.Time{"thumbturn-fork": now.Add(day)},
		}, "film hands-on forgotten"},
		{"of two new ones the must-know", training.Ask{
			Topics: []training.Topic{with(film, "latch-film"), must(with(fork, "thumbturn-fork"))},
			Since:  map[string]time.Time{"thumbturn-fork": now, "latch-film": now},
		}, "fork hands-on new tool"},
		{"a must-know with time left waits", training.Ask{
			Topics: []training.Topic{film, must(fork)},
			Past:   map[string]training.History{"fork": drilled(80, 1000)},
		}, "film hands-on forgotten"},
		{"a must-know whose quarter ends before the next drill", training.Ask{
			Topics: []training.Topic{film, must(fork)},
			Past:   map[string]training.History{"fork": drilled(85, 1000)},
		}, "fork hands-on must know"},
		{"two must-knows need two drills", training.Ask{
			Topics: []training.Topic{film, must(fork), must(plunger)},
			Past:   map[string]training.History{"fork": drilled(80, 1000), "plunger": drilled(81, 1000)},
		}, "plunger hands-on must know"},
		{"a must-know never drilled has a quarter from the start", training.Ask{
			Topics: []training.Topic{film, must(fork)}, From: now.Add(-10 * day),
			Past: map[string]training.History{"film": drilled(10, 1)}, Worth: worth(map[string]float64{"film": 1}),
		}, "film hands-on forgotten"},
		{"and is due now without one", training.Ask{Topics: []training.Topic{film, must(fork)}}, "fork hands-on must know"},
		{"a quiz where there is no hands-on", training.Ask{Topics: []training.Topic{topic("film", recall)}}, "film recall forgotten"},
		{"deciding before recalling", training.Ask{Topics: []training.Topic{topic("film", recall, decide)}}, "film decide forgotten"},
		{"hands-on before a quiz of the same worth", training.Ask{
			Topics: []training.Topic{topic("film", recall, decide), fork},
		}, "fork hands-on forgotten"},
		{"no second quiz in a tour", training.Ask{
			Topics: []training.Topic{topic("film", recall)}, Had: []training.Drill{{Topic: "fork", Kind: decide, Card: "c"}},
		}, ""},
		{"hands-on after the quiz", training.Ask{
			Topics: []training.Topic{topic("film", recall), plunger}, Had: []training.Drill{{Topic: "fork", Kind: decide, Card: "c"}},
			Past: map[string]training.History{"plunger": drilled(1, 900)},
		}, "plunger hands-on forgotten"},
		{"a quiz where no hand is free", training.Ask{
			Topics: []training.Topic{topic("film", hands, recall), fork}, NoHands: true,
		}, "film recall forgotten"},
		{"a silent crew gets another one", training.Ask{Topics: []training.Topic{film, fork}, Silence: map[string]int{"film": 1}}, "fork hands-on forgotten"},
		{"and then the first again", training.Ask{Topics: []training.Topic{film, fork}, Silence: map[string]int{"film": 1, "fork": 2}}, "film hands-on forgotten"},
		{"of two must-knows the one less often left", training.Ask{
			Topics: []training.Topic{must(fork), must(plunger)}, Silence: map[string]int{"fork": 2, "plunger": 1},
		}, "plunger hands-on must know"},
		{"not the same topic twice in a tour", training.Ask{
			Topics: []training.Topic{film, fork}, Had: []training.Drill{{Topic: "film", Kind: hands, Card: "c"}},
		}, "fork hands-on forgotten"},
	} {
		row.ask.Now = now
		got := ""
		if choice, ok := chooser.Next(row.ask); ok {
			got = fmt.Sprintf("%s %s %s", choice.Drill.Topic, choice.Drill.Kind, choice.Reason.Why)
			if err := choice.Drill.Check(); err != nil {
				t.Errorf("%s: %v", row.name, err)
			}
		}
		if got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}

func TestOverdue(t *testing.T) {
	got := chooser.Overdue(training.Ask{
		Now: now, From: now.Add(-10 * day),
		Topics: []training.Topic{must(topic("a", hands)), must(topic("b", hands)), must(topic("c", hands)), topic("d", hands), must(topic("e", hands))},
		Past:   map[string]training.History{"a": drilled(91, 5), "b": drilled(90, 5), "c": drilled(200, 5), "d": drilled(300, 5)},
	})
	if diff := cmp.Diff([]string{"c", "a"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestReasonWords(t *testing.T) {
	for _, row := range []struct {
		name   string
		reason training.Reason
		want   string
	}{
		{"a new tool", training.Reason{Why: training.NewTool}, "The thumbturn fork is new to your crew, and you have not drilled it yet."},
		{"a quarter", training.Reason{Why: training.MustKnow, Drills: 2, Ago: 85}, "Every crew is to drill this at least once a quarter. Yours last did 85 days ago."},
		{"a quarter, and never", training.Reason{Why: training.MustKnow}, "Every crew is to drill this at least once a quarter. Yours has not yet."},
		{"never", training.Reason{Why: training.Forgotten, Worth: 1.25}, "Your crew has not drilled it yet. Without it an average entry costs about 1.2 minutes more, marks counted as minutes (assumed)."},
		{"faded", training.Reason{Why: training.Forgotten, Drills: 1, Ago: 1, Recall: 0.634}, "Your crew last drilled it yesterday. About 63 in 100 crews would still have it (assumed)."},
	} {
		name := "thumbturn fork"
		if row.reason.Why == training.MustKnow {
			name = "the thumbturn fork"
		}
		if got := row.reason.Words(name); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}

func TestCheckTopics(t *testing.T) {
	for _, row := range []struct {
		name   string
		topics []training.Topic
		want   error
	}{
		{"as it should be", []training.Topic{topic("film", hands, recall)}, nil},
		{"without a card", []training.Topic{topic("film")}, training.ErrNoCard},
		{"a kind without a card", []training.Topic{{ID: "film", Cards: map[training.DrillKind]string{hands: ""}}}, training.ErrNoCard},
		{"a kind that is none", []training.Topic{topic("film", "dance")}, training.ErrNoKind},
		{"without a name", []training.Topic{topic("", hands)}, training.ErrNoTopic},
		{"twice", []training.Topic{topic("film", hands), topic("film", recall)}, training.ErrTopicSeen},
	} {
		if err := training.CheckTopics(row.topics); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
	err := training.CheckTopics([]training.Topic{topic("film"), topic("fork")})
	if err == nil || !strings.Contains(err.Error(), "film") || !strings.Contains(err.Error(), "fork") {
		t.Errorf("not all that is wrong is named: %v", err)
	}
}

// However the other topics tempt, a crew that gets a drill a tour has had every
// must-know once in 90 days, as long as there are no more of them than drills.
func TestMustKnowsOnceAQuarter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 14).Draw(t, "must-knows") // 90 days hold 15 drills
		worths := map[string]float64{}
		var topics []training.Topic
		for i := range n + 20 {
			one := topic(fmt.Sprintf("t%02d", i), hands)
			one.Must = i < n
			topics = append(topics, one)
			worths[one.ID] = rapid.Float64Range(0, 10).Draw(t, "worth")
			if one.Must {
				worths[one.ID] = 0
			}
		}
		ask := training.Ask{Topics: topics, Past: map[string]training.History{}, From: now, Worth: func(id string) float64 { return worths[id] }}
		last := map[string]time.Time{}
		for tour := range 60 {
			ask.Now = now.Add(time.Duration(tour) * 6 * day)
			choice, ok := chooser.Next(ask)
			if !ok {
				t.Fatal("nothing chosen")
			}
			h := ask.Past[choice.Drill.Topic]
			memory, err := chooser.Model.Answer(h.Memory, schedule.Easy, ask.Now)
			if err != nil {
				t.Fatal(err)
			}
			ask.Past[choice.Drill.Topic] = training.History{Memory: memory, Drills: h.Drills + 1}
			last[choice.Drill.Topic] = ask.Now
			for _, one := range topics[:n] {
				since, had := last[one.ID]
				if !had {
					since = now
				}
				if ask.Now.Sub(since) > 90*day {
					t.Fatalf("%s was not drilled for %v", one.ID, ask.Now.Sub(since))
				}
			}
		}
	})
}

func BenchmarkNext(b *testing.B) {
	topics := make([]training.Topic, 60)
	past := map[string]training.History{}
	for i := range topics {
		topics[i] = with(topic(fmt.Sprintf("t%02d", i), hands, decide, recall), fmt.Sprintf("tool%d", i%25))
		topics[i].Must = i%5 == 0
		past[topics[i].ID] = drilled(i, float64(1+i%9))
	}
	since := map[string]time.Time{"tool3": now.Add(-100 * day)}
	ask := training.Ask{Now: now, Topics: topics, Past: past, Since: since, Worth: func(string) float64 { return 1.5 }}
	for b.Loop() { // one choice for each of 33 crews
		for range 33 {
			if _, ok := chooser.Next(ask); !ok {
				b.Fatal("nothing chosen")
			}
		}
	}
}

// Whatever is asked for in whatever state, a crew gets one quiz a tour at most, no
// topic twice in it, only drills that there are, and hands-on where a topic has it.
func TestNextKeepsTheRules(t *testing.T) {
	all := training.DrillKinds()
	rapid.Check(t, func(t *rapid.T) {
		ask := training.Ask{Now: now, Past: map[string]training.History{}, Since: map[string]time.Time{}, NoHands: rapid.Bool().Draw(t, "no hands")}
		for i := range rapid.IntRange(0, 12).Draw(t, "topics") {
			kinds := rapid.SliceOfNDistinct(rapid.SampledFrom(all), 1, 3, rapid.ID).Draw(t, "kinds")
			one := with(topic(fmt.Sprintf("t%02d", i), kinds...), fmt.Sprintf("tool%d", i%4))
			one.Must = rapid.Bool().Draw(t, "must")
			ask.Topics = append(ask.Topics, one)
			if rapid.Bool().Draw(t, "drilled") {
				ask.Past[one.ID] = drilled(rapid.IntRange(0, 200).Draw(t, "days ago"), rapid.Float64Range(0.01, 500).Draw(t, "stability"))
			}
			if rapid.Bool().Draw(t, "new tool") {
				ask.Since[one.Tools[0]] = now.Add(-time.Duration(rapid.IntRange(-5, 100).Draw(t, "carried")) * day)
			}
		}
		quizzes, seen := 0, map[string]bool{}
		for {
			choice, ok := chooser.Next(ask)
			if !ok {
				break
			}
			d := choice.Drill
			i := slices.IndexFunc(ask.Topics, func(one training.Topic) bool { return one.ID == d.Topic })
			if d.Kind.Quiz() {
				quizzes++
				if _, has := ask.Topics[i].Drill(hands); has && !ask.NoHands {
					t.Errorf("a quiz about %s, which has hands-on", d.Topic)
				}
			}
			if quizzes > 1 || seen[d.Topic] || d.Card != ask.Topics[i].Cards[d.Kind] || d.Kind == hands && ask.NoHands || choice.Reason.Words("it") == "" {
				t.Fatalf("%+v after %+v", choice, ask.Had)
			}
			seen[d.Topic] = true
			ask.Had = append(ask.Had, d)
		}
	})
}
