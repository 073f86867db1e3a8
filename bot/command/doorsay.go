package command

import (
	"fmt"
	"regexp"
	"strings"

	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// readShortly takes a few words for the button that they stand for, and what is
// told of a door at a door for what it is.
func (r *Request) readShortly() error {
	doing := r.Memory.Running != nil
	if theirs, err := r.crew(); err != nil {
		return fmt.Errorf("read crew's door: %w", err)
	} else if theirs != nil && !theirs.Closed {
		doing = true
	}
	value, ok := r.standsFor(r.Event.Text, doing)
	if !ok {
		if doing && r.tellsOfDoor() {
			r.Reading.Intent = understand.Door
		}
		return nil
	}
	r.Verb, r.Ref = press(value)
	if r.Reading.Intent == understand.None || r.Reading.Intent == understand.Ask {
		r.Reading.Intent = understand.Intent(r.Verb)
	}
	return nil
}

// tellsOfDoor says whether a message that asks for nothing else tells something
// of a door or of an attempt. A question is for the cards. "The blade did not
// work" at a door is a failed try, and no report about a kit.
func (r *Request) tellsOfDoor() bool {
	switch r.Reading.Intent {
	case understand.Report:
		return r.Reading.Outcome == understand.NotYet && r.Reading.Has(understand.Door) && !r.Reading.UnitNamed
	case understand.None, understand.Ask:
		return (r.Reading.DoorSaid || r.Reading.Outcome != "") && !question.MatchString(r.Event.Text)
	}
	return false
}

var question = regexp.MustCompile(`(?i)\?\s*$|^\W*(?:how|what|why|when|where|which|who|can|could|may|should|do|does|is|are|will|show|explain|tell)\b`)

// standsFor gives the button that a short message stands for: a few words that
// are no sentence about a door or a use, but that a crew types instead of
// tapping. doing says whether a door is being worked on: its words without one
// ask which door where the bot itself is spoken to, unless they are about a card.
func (r *Request) standsFor(text string, doing bool) (press string, ok bool) {
	words := strings.ToLower(strings.Trim(strings.TrimSpace(text), ".!?"))
	if number := incidentIn(words); number != "" && strings.HasPrefix(words, "incident") && strings.HasSuffix(words, number) {
		return string(understand.Used) + ":incident:" + number, true
	}
	if value, ok := anytimeWords[words]; ok {
		return value, true
	}
	if value, ok := r.deskWords(text, words); ok {
		return value, true
	}
	if value, ok := adoptionWords(words, r.Cards); ok {
		return value, true
	}
	value, ok := atDoorWords[words]
	if ok && !doing && r.Memory.Card == "" && r.Event.Direct {
		return doorNone, true
	}
	return value, ok && doing
}

// deskWords gives the button that a sentence about the programme's own records
// stands for: who acts, who goes to another crew, what is known of a tool, the
// list, the audit, a line by its number. What reports, tells of a door or moves a
// kit is that, whatever else it says: "acting officer on E4, the fork is missing".
func (r *Request) deskWords(text, words string) (press string, ok bool) {
	if helpSubject.MatchString(text) {
		return string(understand.Help) + ":about", true
	}
	if value, ok := r.signOffWordsOf(words); ok {
		return value, true
	}
	if value, ok := wishWords(text); ok {
		return value, true
	}
	if value, ok := figuresWords(strings.Trim(words, " ?.!")); ok {
		return value, true
	}
	if value, ok := budgetWords(strings.Trim(text, " ?.!")); ok && r.ofTheRequest(value) {
		return value, true
	}
	if r.Memory.Hearing && r.Who.May(department.Quartermaster) && moneyAsked.MatchString(text) && otherQuestion.MatchString(text) {
		return string(understand.Budget) + ":forms", true
	}
	if value, ok := sessionWords(words); ok { // its subject may well be a door
		return value, true
	}
	if value, ok := r.rollOutWords(text); ok { // its task may well be a door
		return value, true
	}
	if value, ok := drillWords(words); ok {
		return value, true
	}
	if r.asksTopics(words) {
		return crewTopicsVerb + ":say", true
	}
	switch r.Reading.Intent {
	case understand.Report, understand.Resolved, understand.Door, understand.Move, understand.Lend, understand.StopUse:
		return "", false
	}
	if len(r.Reading.Lines) > 0 || r.Reading.Pending != nil {
		return "", false
	}
	if value, ok := accessWords(text); ok && !question.MatchString(text) {
		_, err := r.memberNamed() // "cut off the shackle" is of nobody's access
		if err == nil || accessSaid.MatchString(text) {
			return value, true
		}
	}
	asks := question.MatchString(text)
	switch said := numberedLine.FindStringSubmatch(words); {
	case said != nil && r.Memory.Hearing && strings.HasPrefix(words, "line") && !strings.Contains(words, "#"):
		return string(understand.Budget) + ":line:" + said[1], true
	case said != nil:
		return string(understand.Queue) + ":see:" + said[1], true
	case !asks && actingWords.MatchString(text), strings.HasPrefix(words, "who is acting"), strings.HasPrefix(words, "who acting"):
		return actingVerb + ":say", true
	case !asks && transferWords.MatchString(words):
		return transferVerb + ":say", true
	case pieceAsked.MatchString(words):
		return pieceVerb + ":list", true
	case pieceSaid.MatchString(words) && len(r.Reading.Items) > 0:
		return pieceVerb + ":note", true
	case auditWords.MatchString(words):
		return auditVerb + ":page", true
	case listWords.MatchString(words):
		return convertVerb + ":page", true
	case convertedWords.MatchString(words) && r.Reading.UnitNamed:
		return convertVerb + ":say", true
	}
	return "", false
}

var anytimeWords = map[string]string{
	"shelf": "restock:shelf", "our shelf": "restock:shelf", "the shelf": "restock:shelf",
	"bag list": "queue:bags", "bag lists": "queue:bags", "bags": "queue:bags", "bag": "queue:bags", "pack the bags": "queue:bags",
	"door": doorStart, "new door": doorStart, "a door": doorStart, "plan a door": doorStart,
	"back on the rig": "used:tell", "on the rig": "used:tell", "back in quarters": "used:tell", "tell how it went": "used:tell",
	"unanswered": questionsVerb + ":list", "unanswered questions": questionsVerb + ":list", "open questions": questionsVerb + ":list", "what could nobody answer": questionsVerb + ":list", "what could you not answer": questionsVerb + ":list",
	"that was practice": "used:practice", "it was practice": "used:practice", "only practice": "used:practice", "just practice": "used:practice", "that was a drill": "used:practice", "that was training": "used:practice",
	"introduction": introVerb + ":begin", "intro": introVerb + ":begin", "i am new here": introVerb + ":begin", "i'm new here": introVerb + ":begin", "im new here": introVerb + ":begin",
	"quiz": "drill:quiz", "a quiz": "drill:quiz", "quiz please": "drill:quiz", "quiz time": "drill:quiz",
	"had it in hand": "roll-out:hands", "i had it in hand": "roll-out:hands", "i've had it in hand": "roll-out:hands",
	"share a door": "share-door:list", "share doors": "share-door:list", "doors to share": "share-door:list", "real doors": "share-door:list",
	"our uses": "used:list", "our records": "used:list", "last uses": "used:list",
	"that record was wrong": "used:withdraw", "that record is wrong": "used:withdraw", "my record was wrong": "used:withdraw", "withdraw my record": "used:withdraw",
}

var atDoorWords = map[string]string{
	"why": "door:why", "why that": "door:why", "show the numbers": "door:why",
	"draw": "door:draw", "draw it": "door:draw", "drawing": "door:draw", "show me": "door:draw", "picture": "door:draw",
	"another door": "door:another", "wrong": "door:fix", "fix": "door:fix", "that's wrong": "door:fix",
	"force now": "door:force", "officer says force it": "door:force",
	"open": "door:opened", "opened": "door:opened", "we're in": "door:opened",
	"it's open": "door:opened", "its open": "door:opened",
	"didn't go": "door:not-yet", "didnt go": "door:not-yet", "no good": "door:not-yet", "no good, next": "door:not-yet", "no good next": "door:not-yet",
	"not yet": "door:not-yet", "no luck": "door:not-yet", "next": "door:not-yet",
	"can't tell": "door:unsure", "cannot tell": "door:unsure", "don't know": "door:unsure", "no idea": "door:unsure",
}
