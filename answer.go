package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/door"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// answer is what say prints of one message. Scripts depend on the field names:
// they never change, and new ones may come.
type answer struct {
	Text    string              `json:"text"`   // as it was said
	Intent  understand.Intent   `json:"intent"` // what the reply acts on
	Also    []understand.Intent `json:"also"`   // what else the message holds
	Reply   answerText          `json:"reply"`
	Posts   []answerPost        `json:"posts"` // for other channels
	Cards   []answerCard        `json:"cards"` // best first; empty when the bot declines
	Lines   []understand.Line   `json:"lines"`
	Unit    string              `json:"unit"`     // the rig named
	AskBack []string            `json:"ask_back"` // what must be asked before the bot can act
	Door    answerDoor          `json:"door"`
	MS      float64             `json:"ms"` // handling time
	Error   string              `json:"error,omitempty"`
}

type answerText struct {
	Text     string          `json:"text"`
	Buttons  []bot.Button    `json:"buttons"`
	Pictures []answerPicture `json:"pictures"`
	Private  bool            `json:"private"`
}

type answerPicture struct {
	Alt  string `json:"alt"`
	File string `json:"file"`
}

type answerPost struct {
	Use     string `json:"use"`
	Station string `json:"station,omitempty"`
	answerText
}

type answerCard struct {
	ID    string  `json:"id"`
	Score float64 `json:"score"`
}

type answerDoor struct {
	Facts    door.Facts      `json:"facts"`
	Failed   []string        `json:"failed"`
	Plan     []door.Step     `json:"plan"`
	Look     *door.Look      `json:"look"`
	RuledOut []door.RuledOut `json:"ruled_out"`
	Error    string          `json:"error,omitempty"`
}

// emptyAnswer is an answer without anything in it: its lists are empty, never
// null.
func emptyAnswer(text string) answer {
	return answer{
		Text: text, Intent: understand.None, Also: []understand.Intent{}, Reply: joined(nil), Posts: []answerPost{}, Cards: []answerCard{},
		Lines: []understand.Line{}, AskBack: []string{},
		Door: answerDoor{Failed: []string{}, Plan: []door.Step{}, RuledOut: []door.RuledOut{}},
	}
}

// answer gathers what came of a message.
func (v *sayer) answer(ctx context.Context, out command.Outcome) answer {
	r := out.Request
	if r == nil {
		return failed(message{}, errors.New("handled before"))
	}
	a := answer{
		Text: r.Event.Text, Intent: r.Reading.Intent, Also: orEmpty(r.Reading.Also), Lines: orEmpty(r.Reading.Lines),
		Unit: r.Reading.Unit, AskBack: []string{}, Posts: []answerPost{}, Cards: []answerCard{}, Door: doorOf(r),
	}
	if r.Verb != "" { // a press means what its button says
		a.Intent = understand.Intent(r.Verb)
	}
	for _, q := range r.Reading.AskBack {
		a.AskBack = append(a.AskBack, q.About)
	}
	if found := r.Hits(); found.Verdict != knowledge.Declined {
		for _, hit := range found.Hits {
			a.Cards = append(a.Cards, answerCard{hit.ID, hit.Score})
		}
	}
	var own []answerText
	for _, p := range out.Posts {
		text := v.text(ctx, p.Reply)
		if p.To == (command.Place{}) {
			own = append(own, text)
		} else {
			a.Posts = append(a.Posts, answerPost{Use: string(p.To.Use), Station: p.To.Station, answerText: text})
		}
	}
	a.Reply = joined(own)
	return a
}

func doorOf(r *command.Request) answerDoor {
	d := answerDoor{Facts: r.DoorFacts(), Failed: []string{}, Plan: []door.Step{}, RuledOut: []door.RuledOut{}}
	d.Failed = orEmpty(d.Facts.Failed)
	plan, err := r.Plan()
	if err != nil {
		d.Error = err.Error()
		return d
	}
	d.Plan, d.Look, d.RuledOut = orEmpty(plan.Steps), plan.Look, orEmpty(plan.RuledOut)
	return d
}

func (v *sayer) text(ctx context.Context, reply bot.Reply) answerText {
	t := answerText{Text: reply.Plain(), Buttons: orEmpty(reply.Buttons), Pictures: []answerPicture{}, Private: reply.Private}
	for _, p := range reply.Pictures {
		file, err := v.draw(ctx, p)
		if err != nil {
			v.log.Error("picture not saved", "error", err)
		}
		t.Pictures = append(t.Pictures, answerPicture{p.Alt, file})
	}
	return t
}

// joined makes one reply of several to the same person.
func joined(replies []answerText) answerText {
	all := answerText{Buttons: []bot.Button{}, Pictures: []answerPicture{}}
	var texts []string
	for _, r := range replies {
		texts = append(texts, r.Text)
		all.Buttons = append(all.Buttons, r.Buttons...)
		all.Pictures = append(all.Pictures, r.Pictures...)
		all.Private = all.Private || r.Private
	}
	all.Text = strings.Join(texts, "\n\n")
	return all
}

// orEmpty makes a list that JSON writes as [] and never as null.
func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func printJSON(w io.Writer, a answer) error {
	line, err := json.Marshal(a)
	if err != nil {
		return fmt.Errorf("encode answer: %w", err)
	}
	_, err = fmt.Fprintf(w, "%s\n", line)
	return err
}

// printText prints the reply as a person would read it. A message that could
// not be taken is an error.
func printText(w io.Writer, a answer) error {
	if a.Error != "" {
		return &bot.UserError{Say: a.Error}
	}
	text := a.Reply.Text
	for _, b := range a.Reply.Buttons {
		text += "\n  (" + b.Label + ")"
	}
	for _, p := range a.Reply.Pictures {
		text += "\n  picture: " + p.File
	}
	_, err := fmt.Fprintln(w, text)
	return err
}
