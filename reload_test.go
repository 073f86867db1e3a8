package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/knowledge"
)

// watched is a department's folder with a bot at work on it, looked at by hand.
type watched struct {
	*testing.T
	dir     string
	log     *bytes.Buffer
	office  *office
	watch   *folderWatch
	swaps   int
	said    int
	notices []string
}

// newWatched starts on the folder that init makes.
func newWatched(t *testing.T) *watched {
	t.Helper()
	return watchAll(t, ".")
}

// watchAll starts on a folder with a department in each of these below it.
func watchAll(t *testing.T, below ...string) *watched {
	t.Helper()
	w := &watched{T: t, dir: filepath.Join(t.TempDir(), "dept"), log: &bytes.Buffer{}}
	for _, name := range below {
		w.write(filepath.Join(name, department.FileName), string(department.Start(name)))
	}
	all, err := openDesks(w.dir, w.log)
	if err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.NewTextHandler(w.log, nil))
	db, err := store.OpenTemp(t.Context(), store.Options{Log: log})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	w.office = newOffice(newDesks(desksOf(all)...), db, bot.NewManualClock(time.Date(2026, 11, 23, 13, 0, 0, 0, time.UTC)), log)
	w.watch = newFolderWatch(w.office, w.dir, all, func() { w.swaps++ })
	return w
}

// write saves a file of the folder.
func (w *watched) write(name, text string) {
	w.Helper()
	name = filepath.Join(w.dir, name)
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		w.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		w.Fatal(err)
	}
}

// settle looks until a change that is there has been read.
func (w *watched) settle() {
	clock := w.office.clock.(*bot.ManualClock)
	for range 3 {
		clock.Set(clock.Now().Add(lookEvery))
		w.watch.look(w.Context())
	}
}

// event fills in an event of the department's first member, in a conversation
// of its own where none is named.
func (w *watched) event(e bot.Event) bot.Event {
	w.said++
	d := w.office.desks.all()[0].Department
	e.ID, e.Department, e.At, e.Direct, e.Where.Platform = fmt.Sprint("event-", w.said), d.Slug, w.office.clock.Now(), true, "console"
	if e.Where.Channel == "" {
		e.Where.Channel = e.ID
	}
	e.From = bot.Speaker{ID: d.Members[0].ID, Member: d.Members[0].ID}
	return e
}

// ask says something and gives the reply.
func (w *watched) ask(text string) string {
	w.Helper()
	out, err := w.office.intake.Now(w.Context(), w.event(bot.Event{Kind: bot.Said, Text: text}))
	return w.answer(out, err).Plain()
}

// tap presses a button; all taps are in one conversation.
func (w *watched) tap(value string) bot.Reply {
	w.Helper()
	return w.answer(w.office.intake.Now(w.Context(), w.event(bot.Event{Kind: bot.Pressed, Press: value, Where: bot.Address{Channel: "taps"}})))
}

func (w *watched) answer(out command.Outcome, err error) bot.Reply {
	w.Helper()
	if err != nil || len(out.Posts) == 0 {
		w.Fatalf("no answer: %v; log: %s", err, w.log)
	}
	return out.Posts[0].Reply
}

// heard sends what is in the outbox and gives the texts that the lead got, ever.
func (w *watched) heard() []string {
	w.Helper()
	for {
		sent := w.send()
		if len(sent) == 0 {
			return w.notices
		}
		for _, m := range sent {
			if strings.HasPrefix(m.Key, "notice/") {
				w.notices = append(w.notices, m.Reply.Plain())
			}
		}
	}
}

// send sends the first message of each lane, as the loop would.
func (w *watched) send() []bot.Outgoing {
	w.Helper()
	ready, _, err := w.office.db.Ready(w.Context(), w.office.clock.Now(), 100)
	if err != nil {
		w.Fatal(err)
	}
	var sent []bot.Outgoing
	for _, m := range ready {
		if err := w.office.db.MarkSending(w.Context(), m.ID); err != nil {
			w.Fatal(err)
		}
		if err := w.office.db.Settle(w.Context(), m.ID, deliver.Outcome{State: deliver.Sent}); err != nil {
			w.Fatal(err)
		}
		sent = append(sent, m.Message)
	}
	return sent
}

// ownCard is a card of a department's own that says something of its own.
func ownCard(intro string) string {
	return "---\ntitle: Gable hatch\nkind: care\naliases: [gable hatch]\nasks:\n  - how do I shut the gable hatch\nnot_about: []\ntools: []\nhazards: []\nrelated: []\n" +
		"sources: [\"common practice\"]\nreviewed: 2026-11-01\n---\n\n" + intro + "\n\n## Use it when\n\n- It is open.\n\n## Steps\n\n1. Shut the gable hatch.\n\n" +
		"## Stop and switch when\n\n- It sticks.\n\n## Cautions\n\n- The officer in charge decides.\n"
}

const askHatch = "how do I shut the gable hatch"

// A new card serves, a broken one is refused while the old serves on, and the
// mended one serves again.
func TestCardsReload(t *testing.T) {
	w := newWatched(t)
	if got := w.ask(askHatch); strings.Contains(got, "Gable hatch") {
		t.Fatalf("before there is a card: %s", got)
	}
	w.write("cards/gable-hatch.md", ownCard("The first hatch text."))
	w.settle()
	if got := w.ask(askHatch); !strings.Contains(got, "The first hatch text.") {
		t.Fatalf("after the card came: %s", got)
	}
	w.write("cards/gable-hatch.md", strings.Replace(ownCard("The second, broken text."), "kind: care", "kind: gadget", 1))
	w.settle()
	if got := w.ask(askHatch); !strings.Contains(got, "The first hatch text.") {
		t.Errorf("while the card is broken: %s", got)
	}
	if !strings.Contains(w.log.String(), "cards/gable-hatch.md:3") {
		t.Errorf("the log does not name the line: %s", w.log)
	}
	w.write("cards/gable-hatch.md", ownCard("The third text."))
	w.settle()
	if got := w.ask(askHatch); !strings.Contains(got, "The third text.") {
		t.Errorf("after the card was mended: %s", got)
	}
	if !strings.Contains(w.log.String(), "files mended") {
		t.Error("the log does not say that it was mended")
	}
}

// The lead hears of the same mistakes once, with file, line and reason, and not
// with the lines of the file.
func TestLeadHearsOfBrokenFileOnce(t *testing.T) {
	w := newWatched(t)
	text, err := os.ReadFile(filepath.Join(w.dir, "department.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	broken := strings.Replace(string(text), "zone: America/New_York", "zone: America/Nowhere", 1)
	w.write("department.yaml", broken)
	w.settle()
	w.write("department.yaml", broken+"\n# another try\n")
	w.settle()
	posts := w.heard()
	if len(posts) != 1 || !strings.Contains(posts[0], "department.yaml:") || !strings.Contains(posts[0], "Nowhere") {
		t.Fatalf("the lead heard: %q", posts)
	}
	if strings.Contains(posts[0], " | ") || strings.Contains(posts[0], filepath.Dir(w.dir)) {
		t.Errorf("the post shows the file's lines or where it is: %s", posts[0])
	}
	w.write("department.yaml", string(text))
	w.settle()
	if w.swaps != 1 || len(w.heard()) != 1 {
		t.Errorf("after mending: %d swaps, the lead heard %q", w.swaps, w.heard())
	}
}

// The slug is what everything is kept under, so a file with another is refused.
func TestSlugStays(t *testing.T) {
	w := newWatched(t)
	slug := w.office.desks.all()[0].Department.Slug
	text, err := os.ReadFile(filepath.Join(w.dir, "department.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	w.write("department.yaml", strings.Replace(string(text), ": "+slug, ": another-one", 1))
	w.settle()
	if posts := w.heard(); w.swaps != 0 || len(posts) != 1 || !strings.Contains(posts[0], slug) {
		t.Errorf("%d swaps, the lead heard %q", w.swaps, posts)
	}
}

// What is still being saved is not read, and what did not change is not read
// again.
func TestReloadWaitsForRest(t *testing.T) {
	w := newWatched(t)
	for i := range 3 {
		w.write("cards/gable-hatch.md", ownCard(strings.Repeat("More. ", i+1)))
		w.watch.look(t.Context())
	}
	if w.swaps != 0 {
		t.Errorf("%d swaps while it was being saved", w.swaps)
	}
	w.settle()
	w.settle()
	if w.swaps != 1 {
		t.Errorf("%d swaps, want 1", w.swaps)
	}
}

// One department's mistake is told to that department alone, and does not keep
// another's change from being taken up. A department that comes later serves.
func TestDepartmentsReloadApart(t *testing.T) {
	w := watchAll(t, "north", "south")
	w.write("north/cards/gable-hatch.md", "nothing of a card")
	w.write("south/cards/gable-hatch.md", ownCard("The southern hatch."))
	w.write("west/department.yaml", string(department.Start("west")))
	w.settle()
	if got := w.heard(); w.swaps != 3 || len(got) != 1 {
		t.Errorf("%d swaps, the leads heard %q", w.swaps, got)
	}
	for slug, has := range map[string]bool{"north": false, "south": true, "west": false} {
		desk, ok := w.office.desks.desk(slug)
		if !ok {
			t.Errorf("%s does not serve", slug)
			continue
		}
		if _, found := desk.Cards.Card("gable-hatch"); found != has {
			t.Errorf("%s has the card: %v", slug, found)
		}
	}
	w.write("west/department.yaml", string(department.Start("south")))
	w.settle()
	if got := w.heard(); len(got) != 2 {
		t.Errorf("after a slug that is another's, the leads heard %q", got)
	}
}

// heldCards answer only when they are let go.
type heldCards struct {
	command.Cards
	asked func()
	let   chan struct{}
}

func (h heldCards) Search(question string) knowledge.Found {
	h.asked()
	<-h.let
	return h.Cards.Search(question)
}

// A message that is being answered while the cards are swapped is answered by
// those that it began with, the next one by the new ones.
func TestMessageDuringReload(t *testing.T) {
	w := newWatched(t)
	w.write("cards/gable-hatch.md", ownCard("The first hatch text."))
	w.settle()
	held := *w.office.desks.all()[0]
	asked := make(chan struct{})
	gate := heldCards{held.Cards, sync.OnceFunc(func() { close(asked) }), make(chan struct{})}
	held.Cards = gate
	w.office.desks.replace(&held)

	type answered struct {
		out command.Outcome
		err error
	}
	first := make(chan answered, 1)
	event := w.event(bot.Event{Kind: bot.Said, Text: askHatch})
	go func() {
		out, err := w.office.intake.Now(context.WithoutCancel(t.Context()), event)
		first <- answered{out, err}
	}()
	<-asked
	w.write("cards/gable-hatch.md", ownCard("The newer hatch text."))
	w.settle()
	if got := w.ask(askHatch); !strings.Contains(got, "The newer hatch text.") {
		t.Errorf("asked after the swap: %s", got)
	}
	close(gate.let)
	a := <-first
	if got := w.answer(a.out, a.err).Plain(); !strings.Contains(got, "The first hatch text.") {
		t.Errorf("asked before the swap: %s", got)
	}
}

// The loop looks whenever its clock has moved far enough, and ends with its
// context.
func TestReloadLoop(t *testing.T) {
	w := newWatched(t)
	ctx, cancel := context.WithCancel(t.Context())
	swapped := make(chan struct{})
	w.watch.swapped = func() { close(swapped) }
	w.write("cards/gable-hatch.md", ownCard("The text."))
	ended := make(chan error, 1)
	go func() { ended <- w.watch.run(ctx) }()
	clock := w.office.clock.(*bot.ManualClock)
	for moving := true; moving; {
		clock.Set(clock.Now().Add(lookEvery))
		select {
		case <-swapped:
			moving = false
		default:
		}
	}
	cancel()
	if err := <-ended; err != nil {
		t.Errorf("ended with %v", err)
	}
}

// A card's own picture is shown, an address is named, and a picture that is not
// there refuses the card.
func TestOwnPictures(t *testing.T) {
	w := newWatched(t)
	links := "links:\n  - \"Our hatch: pictures/hatch.png\"\n  - \"Film of it: https://example.org/hatch\"\nreviewed:"
	w.write("cards/gable-hatch.md", strings.Replace(ownCard("Our hatch."), "reviewed:", links, 1))
	w.settle()
	if told := w.heard(); len(told) == 0 || !strings.Contains(told[0], "there is no file pictures/hatch.png") {
		t.Errorf("the lead is told %q", told)
	}
	var picture strings.Builder
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	w.write("cards/pictures/hatch.png", picture.String())
	w.settle()
	if got := w.ask(askHatch); !strings.Contains(got, "Film of it: https://example.org/hatch") {
		t.Errorf("the answer names no film: %s", got)
	}
	desk := w.office.desks.all()[0]
	if data, err := desk.Draw("own:gable-hatch:0"); err != nil || !strings.HasPrefix(string(data), "\x89PNG") {
		t.Errorf("own picture: %d bytes, %v", len(data), err)
	}
	for _, bad := range []string{"own:gable-hatch:1", "own:gable-hatch:9", "own:gable-hatch:-1", "own:nothing:0", "own:"} {
		if _, err := desk.Draw(bad); err == nil {
			t.Errorf("%s was drawn", bad)
		}
	}
}
