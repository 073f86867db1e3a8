package main

import (
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
	"kitbell/bot/deliver"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/knowledge"
)

// watched is a department in a folder of its own, at work.
type watched struct {
	t      *testing.T
	dir    string
	office *office
	watch  *folderWatch
	count  int
	told   []string // what the programme's channel got
}

func newWatched(t *testing.T) *watched {
	t.Helper()
	dir := t.TempDir()
	w := &watched{t: t, dir: dir}
	w.write(department.FileName, string(department.Start("folder-test")))
	all, err := openDesks(dir, os.Stderr)
	if err != nil {
		t.Fatal(err)
	}
	clock := bot.NewManualClock(time.Date(2026, 11, 23, 10, 0, 0, 0, time.UTC))
	db, err := store.OpenTemp(t.Context(), store.Options{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	w.office = newOffice(newDesks(desksOf(all)...), db, clock, slog.New(slog.DiscardHandler))
	w.watch = newFolderWatch(w.office, dir, all)
	return w
}

// write writes a file below the folder, with a time of its own: two writes in
// one tick of the file system must not look alike.
func (w *watched) write(name, text string) {
	w.t.Helper()
	path := filepath.Join(w.dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		w.t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		w.t.Fatal(err)
	}
	w.count++
	at := time.Date(2026, 1, 1, 0, 0, w.count, 0, time.UTC)
	if err := os.Chtimes(path, at, at); err != nil {
		w.t.Fatal(err)
	}
}

func (w *watched) step() {
	w.t.Helper()
	if err := w.watch.step(w.t.Context()); err != nil {
		w.t.Fatal(err)
	}
}

func (w *watched) ask(id, text string) (string, error) {
	reply, err := w.handle(bot.Event{ID: id, Kind: bot.Said, Text: text, Where: bot.Address{Channel: id}})
	return reply.Plain(), err
}

// tap presses a button in one conversation.
func (w *watched) tap(value string) (bot.Reply, error) {
	w.count++
	return w.handle(bot.Event{ID: fmt.Sprint("tap-", w.count), Kind: bot.Pressed, Press: value, Where: bot.Address{Channel: "taps"}})
}

// handle puts an event of the department's first member through.
func (w *watched) handle(e bot.Event) (bot.Reply, error) {
	d := w.watch.loaded[0].desk.Department
	e.Department, e.At, e.Direct, e.Where.Platform = d.Slug, w.office.clock.Now(), true, "console"
	e.From = bot.Speaker{ID: d.Members[0].ID, Member: d.Members[0].ID}
	out, err := w.office.intake.Now(context.WithoutCancel(w.t.Context()), e)
	if err != nil {
		return bot.Reply{}, err
	}
	if len(out.Posts) == 0 {
		return bot.Reply{}, fmt.Errorf("%q got no answer", e.Text+e.Press)
	}
	return out.Posts[0].Reply, nil
}

func (w *watched) says(id, text, want string) {
	w.t.Helper()
	got, err := w.ask(id, text)
	if err != nil || !strings.Contains(got, want) {
		w.t.Errorf("%q: %v, want %q in\n%s", text, err, want, got)
	}
}

// outbox sends what waits and gives what the programme's channel got so far.
func (w *watched) outbox() []string {
	w.t.Helper()
	for {
		sent := w.send()
		if len(sent) == 0 {
			return w.told
		}
		for _, m := range sent {
			if m.To.Channel == "kit-programme" {
				w.told = append(w.told, m.Reply.Plain())
			}
		}
	}
}

// send sends the first message of each lane, as the loop would.
func (w *watched) send() []bot.Outgoing {
	w.t.Helper()
	ready, _, err := w.office.db.Ready(w.t.Context(), w.office.clock.Now(), 100)
	if err != nil {
		w.t.Fatal(err)
	}
	var sent []bot.Outgoing
	for _, m := range ready {
		if err := w.office.db.MarkSending(w.t.Context(), m.ID); err != nil {
			w.t.Fatal(err)
		}
		if err := w.office.db.Settle(w.t.Context(), m.ID, deliver.Outcome{State: deliver.Sent}); err != nil {
			w.t.Fatal(err)
		}
		sent = append(sent, m.Message)
	}
	return sent
}

func vaultCard(answer string) string {
	day := time.Date(2026, 11, 23, 0, 0, 0, 0, time.UTC)
	return strings.ReplaceAll(knowledge.Draft(knowledge.Decision, "Vault door", "how do we open a bank vault", day), knowledge.ToBeWritten, answer)
}

// A card that comes into the folder serves at the next look; a broken one is
// refused with its file and line, the lead hears of it once, and the old one
// serves until it is mended.
func TestCardsAreTakenUp(t *testing.T) {
	w := newWatched(t)
	const question = "how do we open a bank vault"
	w.says("1", question, "I have no card on that")
	w.write("cards/vault-door.md", vaultCard("Call the bank first."))
	w.step()
	w.says("2", question, "Call the bank first.")

	w.write("cards/vault-door.md", strings.Replace(vaultCard("Call nobody."), "kind: decision", "kind: riddle", 1))
	w.step()
	w.says("3", question, "Call the bank first.")
	told := w.outbox()
	if len(told) == 0 || !strings.Contains(told[0], "vault-door.md:3") || !strings.Contains(told[0], "riddle") {
		t.Errorf("the lead is told %q, want the file, the line and the reason", told)
	}
	w.step()
	if again := w.outbox(); len(again) != len(told) {
		t.Errorf("told again: %q", again)
	}

	w.write("cards/vault-door.md", vaultCard("Call the owner."))
	w.step()
	w.says("4", question, "Call the owner.")
}

// A department file with a mistake is refused whole, and one that changes its
// slug too.
func TestBrokenFileIsRefused(t *testing.T) {
	w := newWatched(t)
	good := string(department.Start("folder-test"))
	for name, bad := range map[string]string{
		"a mistake":    good + "\nnonsense: yes\n",
		"another slug": string(department.Start("another-one")),
	} {
		w.write(department.FileName, bad)
		w.step()
		w.says(name, "what is a deadbolt", "Deadbolt")
	}
	if told := w.outbox(); len(told) < 2 {
		t.Errorf("the lead is told %q, want both", told)
	}
}

// Messages that come while files are taken up are all answered.
func TestNoMessageIsLostToAReload(t *testing.T) {
	w := newWatched(t)
	var asking sync.WaitGroup
	for i := range 40 {
		asking.Go(func() {
			if _, err := w.ask(fmt.Sprint("m", i), "what is a deadbolt"); err != nil {
				t.Error(err)
			}
		})
	}
	w.write("cards/vault-door.md", vaultCard("Call the bank first."))
	w.step()
	asking.Wait()
}

// A card's own picture is shown, an address is named, and a picture that is not
// there refuses the card.
func TestOwnPictures(t *testing.T) {
	w := newWatched(t)
	links := "links:\n  - \"Our vault: pictures/vault.png\"\n  - \"Film of it: https://example.org/vault\"\nreviewed:"
	w.write("cards/vault-door.md", strings.Replace(vaultCard("Call the bank first."), "reviewed:", links, 1))
	w.step()
	if told := w.outbox(); len(told) == 0 || !strings.Contains(told[0], "there is no file pictures/vault.png") {
		t.Errorf("the lead is told %q", told)
	}
	var picture strings.Builder
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	w.write("cards/pictures/vault.png", picture.String())
	w.step()
	w.says("1", "how do we open a bank vault", "Film of it: https://example.org/vault")
	desk := w.watch.loaded[0].desk
	if data, err := desk.Draw("own:vault-door:0"); err != nil || !strings.HasPrefix(string(data), "\x89PNG") {
		t.Errorf("own picture: %d bytes, %v", len(data), err)
	}
	for _, bad := range []string{"own:vault-door:1", "own:vault-door:9", "own:vault-door:-1", "own:nothing:0", "own:"} {
		if _, err := desk.Draw(bad); err == nil {
			t.Errorf("%s was drawn", bad)
		}
	}
}
