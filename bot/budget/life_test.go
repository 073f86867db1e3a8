package budget_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot"
	"kitbell/bot/budget"
)

const (
	lever = "wish/2028/lever" // 11 for 1375.88
	board = "own/2028/board"  // 2 for 106.00
	later = "own/2029/paper"  // an outlook
	hazy  = "own/2028/hazy"   // in no total
)

// handedIn is a request that was handed in.
func handedIn(t testing.TB) budget.Step {
	t.Helper()
	b := onList(tarnHarbor(), "under-door-lever")
	b.Asks = []budget.Ask{
		{Key: "lever", Item: "under-door-lever", PerKit: 1},
		{Key: "board", Own: true, Title: "training board", Pieces: 2, Price: budget.Price{Cents: 50_00, Source: budget.AskersPrice}},
		{Key: "hazy", Own: true, Title: "something", Pieces: 2},
		{Key: "paper", Own: true, Title: "printing", Pieces: 1, Year: 2029, Price: budget.Price{Cents: 10_00, Source: budget.AskersPrice}},
	}
	r, err := budget.Build(b)
	if err != nil {
		t.Fatal(err)
	}
	f, err := budget.Submit(nil, r, "ines-okafor", on("2027-03-20"))
	if err != nil {
		t.Fatal(err)
	}
	return budget.HandIn(f)
}

// then is a step of request 2028-1.
func then(what budget.StepWhat, line string, pieces int, cents int64) budget.Step {
	s := budget.Step{Number: "2028-1", What: what, Line: line, Pieces: pieces, Cents: cents, By: "ines-okafor", At: on("2027-07-01")}
	if what == budget.Cut || what == budget.Corrected {
		s.Reason = "the council's word"
	}
	return s
}

func TestLife(t *testing.T) {
	steps := []budget.Step{
		handedIn(t),
		then(budget.PartlyFunded, lever, 8, 1000_00),
		then(budget.Approved, "", 0, 0), // what is left of the first year: the board
		then(budget.Bought, lever, 5, 620_00),
		then(budget.InTheKits, lever, 4, 0),
		then(budget.Bought, lever, 3, 400_00),
		then(budget.Corrected, lever, 0, 120_00),
	}
	all, refused := budget.Submissions(steps)
	if len(all) != 1 || len(refused) != 0 {
		t.Fatalf("%d requests, refused %+v", len(all), refused)
	}
	got := map[string]string{}
	for _, l := range all[0].Lines {
		got[l.Line.Key] = l.Words("USD")
	}
	want := map[string]string{
		lever: "Asked: 11 for $1,375.88, partly funded with $1,000.00, 8 bought for $1,020.00, 4 in the kits, $20.00 more than granted.",
		board: "Asked: 2 for $106.00, approved.",
		later: "Asked: 1 for $10.92, not decided.",
		hazy:  "Nobody has a price for the something. It is in no total.",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	l, _ := all[0].Line(lever)
	if l.Refused() != 375_88 || l.Over() != 20_00 || len(l.Steps) != 4 {
		t.Errorf("%+v", l)
	}
	o := all[0].Opening(2028)
	if o.Words() != "Request 2028-1: asked $1,481.88, granted $1,106.00, paid $1,020.00. In no sum: 1 line." || len(o.Lines) != 3 || len(o.Corrections) != 1 {
		t.Errorf("%q %+v", o.Words(), o.Corrections)
	}
	if o := all[0].Opening(2029); o.Undecided != 1 || len(o.Corrections) != 0 || o.Asked != 10_92 {
		t.Errorf("%q", o.Words())
	}
	if !all[0].Intact() {
		t.Error("what became of a request changed it")
	}
}

func TestStepsRefused(t *testing.T) {
	cut, bought := then(budget.Cut, lever, 0, 0), []budget.Step{then(budget.Approved, lever, 0, 0), then(budget.Bought, lever, 6, 700_00)}
	early, silent, stranger := then(budget.Approved, lever, 0, 0), then(budget.Cut, lever, 0, 0), then(budget.Approved, lever, 0, 0)
	early.At = on("2027-03-19")
	silent.Reason = ""
	stranger.Number = "2028-2"
	again, changed, unsigned := handedIn(t), handedIn(t), handedIn(t)
	changed.Frozen.Digest = again.Frozen.Digest[1:] + "0"
	unsigned.Frozen = nil
	for _, row := range []struct {
		name   string
		before []budget.Step
		step   budget.Step
		say    string
	}{
		{"a step that is none", nil, then("eaten", lever, 0, 0), `I know no step of a request called "eaten".`},
		{"a request that is none", nil, stranger, "There is no request 2028-2. Type budget to see the last one."},
		{"a line that is none", nil, then(budget.Approved, "wish/2028/x", 0, 0), "Request 2028-1 has no line called wish/2028/x."},
		{"before it was handed in", nil, early, "Request 2028-1 was handed in after that day."},
		{"cut without a reason", nil, silent, "That step needs a reason. Say why."},
		{"decided twice", []budget.Step{cut}, then(budget.Approved, lever, 0, 0), "The under door lever is decided already: cut."},
		{"nothing left to decide", []budget.Step{cut, then(budget.Approved, "", 0, 0)}, then(budget.Approved, "", 0, 0), "Every line of request 2028-1 is decided already."},
		{"a line in no total", nil, then(budget.Approved, hazy, 0, 0), "The something is in no total, so there is nothing to decide."},
		{"a part that is nothing", nil, then(budget.PartlyFunded, lever, 0, 0), "A part of $1,375.88 is more than nothing and less than all of it."},
		{"a part that is all", nil, then(budget.PartlyFunded, lever, 0, 1375_88), "A part of $1,375.88 is more than nothing and less than all of it."},
		{"a part of more pieces", nil, then(budget.PartlyFunded, lever, 12, 5), "Of the under door lever 11 can still be bought. How many is it?"},
		{"below nothing", nil, then(budget.PartlyFunded, lever, 0, -5), "An amount is zero or more. How much is it?"},
		{"more than there is", nil, then(budget.PartlyFunded, lever, 0, 1<<62), "An amount is zero or more. How much is it?"},
		{"a part of no line", nil, then(budget.PartlyFunded, "", 0, 5), "Which line of request 2028-1 is it? Name one."},
		{"bought before the decision", nil, then(budget.Bought, lever, 1, 5), "Nobody has decided on the under door lever yet. Say first what was granted."},
		{"bought though it was cut", []budget.Step{cut}, then(budget.Bought, lever, 1, 5), "The under door lever was cut, so there is no money to buy it."},
		{"none bought", bought, then(budget.Bought, lever, 0, 5), "Of the under door lever 5 can still be bought. How many is it?"},
		{"more bought than granted", bought, then(budget.Bought, lever, 6, 5), "Of the under door lever 5 can still be bought. How many is it?"},
		{"more in the kits than bought", bought, then(budget.InTheKits, lever, 7, 0), "Of the under door lever 6 are bought and not yet in a kit. How many is it?"},
		{"handed in twice", nil, again, "The next request for that year is number 2028-2."},
		{"handed in without a signer", nil, unsigned, "A request is signed when it is handed in. Who signs it?"},
	} {
		all, refused := budget.Submissions(append([]budget.Step{handedIn(t)}, row.before...))
		var said *bot.UserError
		if err := budget.CheckStep(all, row.step); len(refused) != 0 || !errors.As(err, &said) || said.Say != row.say {
			t.Errorf("%s: %v, want %q", row.name, err, row.say)
		}
		if _, refused := budget.Submissions(append(append([]budget.Step{handedIn(t)}, row.before...), row.step)); len(refused) != 1 {
			t.Errorf("%s: the fold took it", row.name)
		}
	}
	var said *bot.UserError
	if err := budget.CheckStep(nil, changed); !errors.As(err, &said) || said.Say != "Request 2028-1 is not what was signed. I do not go on with it." {
		t.Error(err)
	}
}

func TestSubmit(t *testing.T) {
	first := handedIn(t)
	all, _ := budget.Submissions([]budget.Step{first})
	second, err := budget.Submit(all, first.Frozen.Request, "ines-okafor", on("2027-04-01"))
	if err != nil || second.Number != "2028-2" || second.Digest == first.Frozen.Digest || len(second.Digest) != 64 {
		t.Errorf("%+v %v", second.Number, err)
	}
	var said *bot.UserError
	if _, err := budget.Submit(nil, first.Frozen.Request, "", on("2027-04-01")); !errors.As(err, &said) {
		t.Error(err)
	}
	if _, err := budget.Submit(nil, budget.Request{Year: 2028}, "ines-okafor", on("2027-04-01")); !errors.As(err, &said) || said.Say != "There is nothing in that request to hand in." {
		t.Error(err)
	}
}

// Any change to what the journal keeps shows: of number, day, signer, or anything
// in the request.
func TestIntact(t *testing.T) {
	raw, err := json.Marshal(handedIn(t).Frozen)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ name, from, to string }{
		{"nothing", "", ""},
		{"number", `"number":"2028-1"`, `"number":"2028-9"`},
		{"day", `"at":"2027-03-20`, `"at":"2027-03-21`},
		{"signer", `"signer":"ines-okafor"`, `"signer":"perrin-marsh"`},
		{"price", `"each":11800`, `"each":11900`},
		{"problem", "Nobody has a price", "Somebody has a price"},
		{"digest", `"digest":"`, `"digest":"0`},
	} {
		if !strings.Contains(string(raw), row.from) {
			t.Fatalf("%s: there is no %s", row.name, row.from)
		}
		var f budget.Frozen
		if err := json.Unmarshal([]byte(strings.Replace(string(raw), row.from, row.to, 1)), &f); err != nil {
			t.Fatal(err)
		}
		if f.Intact() != (row.from == "") {
			t.Errorf("%s: intact is %v", row.name, f.Intact())
		}
	}
}

// The text is what the digest is of, so that anybody can check it with any program.
func TestText(t *testing.T) {
	f := handedIn(t).Frozen
	sum := sha256.Sum256(f.Text())
	if hex.EncodeToString(sum[:]) != f.Digest || !strings.HasPrefix(string(f.Text()), `{"number":"2028-1","at":"2027-03-20T12:00:00Z","signer":"ines-okafor","request":{`) {
		t.Errorf("%s", f.Text())
	}
}

// A text with fields of another version of the program is still what was signed.
func TestTextOfAnotherVersion(t *testing.T) {
	text := `{"number":"2028-1","at":"2027-03-20T12:00:00Z","signer":"ines-okafor","mood":"hopeful","request":{"year":2028,"lines":[{"key":"a"}]}}`
	sum := sha256.Sum256([]byte(text))
	var f budget.Frozen
	if err := json.Unmarshal([]byte(`{"digest":"`+hex.EncodeToString(sum[:])+`","text":`+text+`}`), &f); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(f)
	if err != nil || !f.Intact() || f.Request.Year != 2028 || !strings.Contains(string(again), "hopeful") {
		t.Errorf("%+v %s %v", f, again, err)
	}
}

// What a journal keeps is what was signed, whatever is in the request.
func TestStepsOutliveTheJournal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		r, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		r = r.WithModel(budget.Model{Worth: func(string) (float64, float64) { return 1.0 / 3, math3 }}, budget.Sample{Recorded: 1})
		f, err := budget.Submit(nil, r, "ines-okafor", on("2027-03-20").Add(123456789))
		if err != nil {
			t.Skip("nothing in it")
		}
		raw, err := json.Marshal(budget.HandIn(f).Entry())
		if err != nil {
			t.Fatal(err)
		}
		var entry bot.Entry
		if err := json.Unmarshal(raw, &entry); err != nil {
			t.Fatal(err)
		}
		s, err := budget.ReadStep(entry)
		if err != nil || entry.Kind != budget.StepKind || entry.Subject != f.Number || entry.Person != "ines-okafor" {
			t.Fatalf("%+v %v", entry, err)
		}
		if !s.Frozen.Intact() || s.Frozen.Request.Total() != r.Total() {
			t.Fatal("the journal's copy is another one")
		}
		if _, refused := budget.Submissions([]budget.Step{s}); len(refused) != 0 {
			t.Fatal("the journal's copy is refused")
		}
	})
}

const math3 = 0.1 + 0.2

// Whatever is read, nothing panics, and what is read once reads the same again.
func FuzzReadStep(f *testing.F) {
	for _, s := range []budget.Step{handedIn(f), then(budget.Bought, lever, 2, 5)} {
		f.Add(string(s.Entry().Body))
	}
	f.Add(`{"what":"handed in","number":"2028-1","frozen":{"digest":"","text":{"signer":"x","request":{"lines":[{"key":"a","evidence":[7,-1]}]}}}}`)
	f.Fuzz(func(t *testing.T, body string) {
		s, err := budget.ReadStep(bot.Entry{Body: []byte(body)})
		if err != nil {
			return
		}
		again, err := budget.ReadStep(s.Entry())
		if err != nil {
			t.Fatal(err)
		}
		if s.Frozen != nil {
			for _, l := range s.Frozen.Request.Lines {
				s.Frozen.Request.Behind(l)
			}
			if s.Frozen.Number != again.Frozen.Number || len(s.Frozen.Request.Lines) != len(again.Frozen.Request.Lines) {
				t.Fatal("another request")
			}
		}
		one, refused := budget.Submissions([]budget.Step{s})
		if len(one)+len(refused) != 1 {
			t.Fatal("a step is gone")
		}
	})
}

func TestReadStepRefuses(t *testing.T) {
	for _, body := range []string{`{"line": 4}`, `{"frozen": {"digest": "x", "text": {"number": 3}}}`, `{"frozen": {"digest": 4}}`, `{"frozen": {}}`} {
		if _, err := budget.ReadStep(bot.Entry{Subject: "2028-1", Body: []byte(body)}); err == nil {
			t.Errorf("%s was read", body)
		}
	}
}

// Whatever is entered, a line never has more in the kits than was bought, nor more
// bought than granted; the request stays as it was signed, and each step is either
// taken or given back.
func TestAnySteps(t *testing.T) {
	first := handedIn(t)
	rapid.Check(t, func(t *rapid.T) {
		steps := []budget.Step{first}
		for range rapid.IntRange(0, 25).Draw(t, "steps") {
			s := then(rapid.SampledFrom(budget.StepWhats()).Draw(t, "what"), rapid.SampledFrom([]string{"", lever, board, later, hazy, "x"}).Draw(t, "line"),
				rapid.IntRange(-1, 12).Draw(t, "pieces"), rapid.Int64Range(-1, 2000_00).Draw(t, "cents"))
			steps = append(steps, s)
		}
		all, refused := budget.Submissions(steps)
		taken := len(all[0].Corrections) + 1
		whole := map[budget.StepWhat]int{}
		for _, l := range all[0].Lines {
			if l.InKits > l.Bought || l.Bought > l.GrantedPieces || l.GrantedPieces > l.Line.Quantity || l.Granted > l.Line.Sums.Total || l.Paid < 0 {
				t.Fatalf("%+v", l)
			}
			for _, s := range l.Steps {
				if s.Line == "" {
					whole[s.What] = 1 // one decision on all is a step of each
					continue
				}
				taken++
			}
		}
		if taken+whole[budget.Approved]+whole[budget.Cut]+len(refused) != len(steps) || !all[0].Intact() {
			t.Fatalf("%d taken, %d and %+v, %d refused of %d", taken, len(whole), whole, len(refused), len(steps))
		}
	})
}
