package command

import (
	"context"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// StopUseCommand takes a bad tool out of every plan and every kit. Anybody may
// ask for it; the lead calls it and lifts it; each kit, shelf and the reserve
// answer what they pulled.
func StopUseCommand() Command {
	return Command{
		Name:    string(understand.StopUse),
		Usage:   "stop using the air wedges, lot 7, one burst",
		For:     department.Lead,
		Summary: "Take a bad tool out of use. The lead calls it, every kit answers. stop-use shows what is open.",
		Run:     stopUse,
	}
}

// stopUseKind is the journal's word for a step of a stop-use.
const stopUseKind = "stop-use"

// stopUses are those that are not lifted.
func (r *Request) stopUses(ctx context.Context) ([]kit.StopUse, error) {
	return fold(ctx, r, stopUseKind, func(entries []bot.Entry) ([]kit.StopUse, error) {
		steps := make([]kit.StopUseStep, len(entries))
		for i, e := range entries {
			step, err := decode[kit.StopUseStep](e)
			if err != nil {
				return nil, err
			}
			steps[i] = step
		}
		return kit.StopUses(steps, func(i int) (string, time.Time) { return entries[i].Person, entries[i].At }), nil
	})
}

// stopPlaces are all that have to answer a stop-use: the kits that it concerns,
// each station's shelf, the reserve.
func (r *Request) stopPlaces(u kit.StopUse) []string {
	var places []string
	for _, k := range r.Department.Kits {
		list, _ := r.Department.ListOf(k)
		if _, listed := list.Line(u.Item); listed && u.Concerns(k.ID, u.Item) {
			places = append(places, kit.KitPlace(k.ID))
		}
	}
	for _, s := range r.Department.Stations {
		places = append(places, kit.ShelfPlace(s.ID))
	}
	return append(places, kit.Reserve)
}

// placeName is how crews call a place.
func (r *Request) placeName(place string) string {
	kind, id, _ := strings.Cut(place, "/")
	switch kind {
	case "kit":
		if k, ok := r.placed.Kit(id); ok && k.Place.Kind == kit.OnUnit {
			return r.unitName(k.Place.At)
		}
		return "kit " + id
	case "shelf":
		if s, ok := r.Department.Station(id); ok {
			return s.Name + " shelf"
		}
	}
	return place
}

func stopUse(ctx context.Context, r *Request) (Result, error) {
	open, err := r.stopUses(ctx)
	if err != nil {
		return Result{}, err
	}
	if r.placed, err = r.fleet(ctx); err != nil {
		return Result{}, err
	}
	what, rest := press(r.Ref)
	if r.Verb == "" {
		if len(r.Reading.Items) == 0 {
			return Answer(r.stopUseList(open)), nil
		}
		return r.beginStopUse(ctx, open)
	}
	if what == "list" {
		return Answer(r.stopUseList(open)), nil
	}
	key, place := press(rest)
	i := slices.IndexFunc(open, func(u kit.StopUse) bool { return u.Key == key })
	if i < 0 {
		return Result{}, bot.SayStopUseOver.With()
	}
	switch u := open[i]; what {
	case "see":
		return Answer(r.stopUseReply(u)), nil
	case "call", "lift":
		if !r.Who.May(department.Lead) {
			return Result{}, bot.SayLeadOnly.With()
		}
		if what == "lift" {
			return r.liftStopUse(u), nil
		}
		return r.callStopUse(u), nil
	case "at":
		return r.askPulled(u, place)
	case "pulled":
		if !r.Who.member() || place == "" {
			return Result{}, bot.SayOldButton.With()
		}
		place, count, _ := cutLast(place, ":")
		n, err := strconv.Atoi(count)
		if err != nil || n < 0 {
			return Result{}, bot.SayOldButton.With()
		}
		return r.answerStopUse(u, place, n)
	}
	return Result{}, bot.SayOldButton.With()
}

// cutLast cuts a text at the last sep.
func cutLast(text, sep string) (before, after string, ok bool) {
	i := strings.LastIndex(text, sep)
	if i < 0 {
		return text, "", false
	}
	return text[:i], text[i+len(sep):], true
}

// beginStopUse calls a stop-use for the lead, or asks the lead for one. Several
// tools in one message are several.
func (r *Request) beginStopUse(ctx context.Context, open []kit.StopUse) (Result, error) {
	var out Result
	for n, item := range r.Reading.Items {
		u := kit.StopUse{Item: item, Lot: r.Reading.Lot, Reason: r.Event.Text, Kits: r.kitsNamed(), By: r.Who.Person, At: r.Now,
			Key: r.stopKey(n)}
		if i := slices.IndexFunc(open, func(o kit.StopUse) bool { return o.Item == item && o.Lot == u.Lot }); i >= 0 {
			reply := r.stopUseReply(open[i])
			reply.Text = "Open already. " + reply.Text
			out.Posts = append(out.Posts, Post{Reply: reply})
			continue
		}
		var one Result
		if r.Who.May(department.Lead) {
			one = r.callStopUse(u)
		} else {
			one = r.askStopUse(u)
		}
		noted, err := r.lotNoted(ctx, u)
		if err != nil {
			return Result{}, err
		}
		one.Posts[0].Reply.Text += noted
		out.Posts, out.Changes = append(out.Posts, one.Posts...), append(out.Changes, one.Changes...)
	}
	return out, nil
}

// stopKey names a stop-use after the message that began it.
func (r *Request) stopKey(n int) string {
	h := fnv.New32a()
	fmt.Fprintln(h, r.Event.Where.Platform, r.Event.ID, n)
	return strconv.FormatUint(uint64(h.Sum32()), 36)
}

// kitsNamed are the kits of the rigs that the message names.
func (r *Request) kitsNamed() []string {
	var kits []string
	for _, unit := range r.Reading.Units {
		kits = append(kits, kitIDs(r.placed.On(unit))...)
	}
	return kits
}

func (r *Request) stopStep(u kit.StopUse, what kit.StopUseWhat) bot.Change {
	step := kit.StopUseStep{Key: u.Key, What: what, Item: u.Item, Lot: u.Lot, Kits: u.Kits, Reason: u.Reason}
	return bot.Written{Entry: bot.NewEntry(stopUseKind, u.Key, r.Who.Person, r.Now, step)}
}

// askStopUse brings a warning to the lead and the officers at once, by day or
// night: a bad tool must not wait for the morning.
func (r *Request) askStopUse(u kit.StopUse) Result {
	name := r.stopName(u)
	out := Result{
		Posts: []Post{{Reply: bot.Reply{
			Text:    "Stop-use asked for: " + name + ". The lead and the officers have it now. Pull it and tag it on your rig until the lead answers.",
			Buttons: []bot.Button{r.undoButton()},
		}}},
		Changes: []bot.Change{r.stopStep(u, kit.StopAsked)},
	}
	warning := bot.Reply{Title: "Stop-use asked for: " + name, Text: u.Reason + "\nFrom " + r.asker() + ". Pull and tag until the lead has answered."}
	warning.Buttons = []bot.Button{stopButton("Call it (lead)", "call", u.Key), stopButton("No need (lead)", "lift", u.Key)}
	for _, use := range []department.ChannelUse{department.ProgrammeChannel, department.OfficersChannel} {
		out.Posts = append(out.Posts, Post{To: Place{Use: use}, Reply: warning})
	}
	return out
}

func stopButton(label, what, ref string) bot.Button {
	return bot.Button{Label: label, Value: string(understand.StopUse) + ":" + what + ":" + ref}
}

func (r *Request) stopName(u kit.StopUse) string {
	name := r.itemName(u.Item)
	if u.Lot != "" {
		name += ", lot " + u.Lot
	}
	if len(u.Kits) > 0 {
		var where []string
		for _, k := range u.Kits {
			where = append(where, r.placeName(kit.KitPlace(k)))
		}
		name += ", on " + list(where, "and")
	}
	return name
}

// callStopUse makes it binding: from now on no plan uses the tool. Officers hear
// it at once, and each station with the buttons to answer.
func (r *Request) callStopUse(u kit.StopUse) Result {
	if u.Called {
		return Answer(r.stopUseReply(u))
	}
	u.Called = true
	name := r.stopName(u)
	text := "Stop-use: " + name + ". Do not use it. Pull it, tag it, and answer for your kit. Plans leave it out from now on."
	out := Result{
		Posts:   []Post{{Reply: bot.Reply{Text: "Called. " + text, Buttons: []bot.Button{stopButton("Who has answered", "see", u.Key), r.undoButton()}}}},
		Changes: []bot.Change{r.stopStep(u, kit.StopCalled)},
	}
	out.Posts = append(out.Posts, Post{To: Place{Use: department.OfficersChannel}, Reply: bot.Reply{Title: "Stop-use", Text: text + "\n" + u.Reason}})
	for _, s := range r.Department.Stations {
		reply := bot.Reply{Title: "Stop-use", Text: text}
		for _, place := range r.stopPlaces(u) {
			if r.stationOf(place) == s.ID {
				reply.Buttons = append(reply.Buttons, stopButton(r.placeName(place), "at", u.Key+":"+place))
			}
		}
		out.Posts = append(out.Posts, Post{To: Place{Use: department.StationChannel, Station: s.ID}, Reply: reply})
	}
	for _, unit := range r.unitsWithKit(r.placed) {
		out.Changes = append(out.Changes, schedule.Fell{Due: schedule.Due{
			Entry: "stop-" + u.Key, Wall: "1", Unit: unit.ID, Kind: schedule.NewsDue, Topic: stopTopic + ":" + u.Key, At: r.Department.Rotation.TourAt(r.Now).End,
		}})
	}
	return out
}

// stopTopic begins the topic of a due thing that asks again for the answer to a
// stop-use; its key follows. It comes back in every tour until each place of the
// rig has answered.
const stopTopic = "stop"

// lotNoted names the kits whose tool is on record with the lot.
func (r *Request) lotNoted(ctx context.Context, u kit.StopUse) (string, error) {
	told, err := r.pieces(ctx)
	if err != nil || u.Lot == "" {
		return "", err
	}
	var kits []string
	for _, p := range told {
		if p.Item == u.Item && p.Lot == u.Lot {
			kits = append(kits, r.placeName(kit.KitPlace(p.Kit)))
		}
	}
	if len(kits) == 0 {
		return "", nil
	}
	return " On record with that lot: " + list(kits, "and") + ". Look everywhere all the same.", nil
}

// stopLeft are the places of a rig, its kits and its station's shelf, that have
// not answered a stop-use.
func (p page) stopLeft(ctx context.Context, key string) (u kit.StopUse, places []string, err error) {
	open, err := p.stopUses(ctx)
	if err != nil {
		return u, nil, err
	}
	if p.placed, err = p.fleet(ctx); err != nil {
		return u, nil, err
	}
	i := slices.IndexFunc(open, func(u kit.StopUse) bool { return u.Key == key })
	if i < 0 {
		return u, nil, nil
	}
	u = open[i]
	own := kitIDs(p.placed.On(p.unit))
	rig, _ := p.Department.Unit(p.unit)
	for _, place := range u.Unanswered(p.stopPlaces(u)) {
		kind, id, _ := strings.Cut(place, "/")
		if kind == "kit" && slices.Contains(own, id) || kind == "shelf" && id == rig.Station {
			places = append(places, place)
		}
	}
	return u, places, nil
}

// addStopUse asks a crew again what it pulled.
func (p page) addStopUse(ctx context.Context, reply *bot.Reply, key string) error {
	u, places, err := p.stopLeft(ctx, key)
	if err != nil || len(places) == 0 {
		return err
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "Stop-use, not answered", Value: p.stopName(u) + ", since " + p.day(u.At) + ". Pull it, tag it, answer."})
	for _, place := range places {
		reply.Buttons = append(reply.Buttons, stopButton(p.placeName(place), "at", u.Key+":"+place))
	}
	return nil
}

// stationOf is the station that a place belongs to; "" for the reserve.
func (r *Request) stationOf(place string) string {
	kind, id, _ := strings.Cut(place, "/")
	if kind == "shelf" {
		return id
	}
	if k, ok := r.placed.Kit(id); ok && kind == "kit" {
		switch k.Place.Kind {
		case kit.OnUnit:
			u, _ := r.Department.Unit(k.Place.At)
			return u.Station
		case kit.OnShelf:
			return k.Place.At
		}
	}
	return ""
}

// mostPulled is how many counts stand as buttons.
const mostPulled = 6

// askPulled asks a place what it found.
func (r *Request) askPulled(u kit.StopUse, place string) (Result, error) {
	if !slices.Contains(r.stopPlaces(u), place) {
		return Result{}, bot.SayOldButton.With()
	}
	reply := bot.Reply{Text: fmt.Sprintf("%s: how many of %s did you pull and tag?", r.placeName(place), r.stopName(u))}
	reply.Buttons = append(reply.Buttons, stopButton("None here", "pulled", u.Key+":"+place+":0"))
	for n := 1; n <= mostPulled; n++ {
		reply.Buttons = append(reply.Buttons, stopButton(strconv.Itoa(n), "pulled", fmt.Sprintf("%s:%s:%d", u.Key, place, n)))
	}
	return Answer(reply), nil
}

// answerStopUse keeps what a place pulled. A later answer takes the place of an
// earlier one.
func (r *Request) answerStopUse(u kit.StopUse, place string, n int) (Result, error) {
	if !slices.Contains(r.stopPlaces(u), place) {
		return Result{}, bot.SayOldButton.With()
	}
	found := "none here"
	if n > 0 {
		found = fmt.Sprintf("pulled and tagged %d", n)
	}
	u.Answers = mergeAnswer(u.Answers, place, n)
	waiting := u.Unanswered(r.stopPlaces(u))
	text := fmt.Sprintf("%s: %s. Thank you.", r.placeName(place), found)
	if len(waiting) == 0 {
		text += " Every place has answered."
	}
	step := kit.StopUseStep{Key: u.Key, What: kit.StopAnswered, Place: place, Count: n}
	out := Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(stopUseKind, u.Key, r.Who.Person, r.Now, step)}},
	}
	if len(waiting) == 0 {
		out.Posts = append(out.Posts, Post{To: Place{Use: department.ProgrammeChannel}, Reply: r.stopUseReply(u)})
	}
	return out, nil
}

// mergeAnswer is answers with one more; the folded ones are everybody's and stay
// as they are.
func mergeAnswer(answers map[string]int, place string, n int) map[string]int {
	merged := map[string]int{place: n}
	for p, count := range answers {
		if p != place {
			merged[p] = count
		}
	}
	return merged
}

func (r *Request) liftStopUse(u kit.StopUse) Result {
	text := "Stop-use lifted: " + r.stopName(u) + ". Plans may use it again. What was pulled goes back in the kit or is reported short."
	if !u.Called {
		text = "Noted: no stop-use for " + r.stopName(u) + ". It may be used."
	}
	out := Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{r.stopStep(u, kit.StopLifted)},
	}
	out.Posts = append(out.Posts, Post{To: Place{Use: department.OfficersChannel}, Reply: bot.Reply{Title: "Stop-use", Text: text}})
	return out
}

// stopUseReply is one stop-use with who has answered and who has not.
func (r *Request) stopUseReply(u kit.StopUse) bot.Reply {
	reply := bot.Reply{Title: "Stop-use: " + r.stopName(u), Text: "Since " + r.day(u.At) + ". " + u.Reason}
	if !u.Called {
		reply.Text = "Asked for " + r.day(u.At) + ", not called yet. " + u.Reason
		reply.Buttons = []bot.Button{stopButton("Call it (lead)", "call", u.Key), stopButton("No need (lead)", "lift", u.Key)}
		return reply
	}
	pulled, total := []string{}, 0
	places := r.stopPlaces(u)
	for _, place := range places {
		if n, ok := u.Answers[place]; ok && n > 0 {
			pulled = append(pulled, fmt.Sprintf("%s %d", r.placeName(place), n))
			total += n
		}
	}
	waiting := u.Unanswered(places)
	reply.Fields = []bot.Field{{Name: "Answered", Value: fmt.Sprintf("%d of %d places, %d pulled and tagged", len(places)-len(waiting), len(places), total)}}
	if len(pulled) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Pulled", Value: strings.Join(pulled, "; ")})
	}
	for i, place := range waiting {
		waiting[i] = r.placeName(place)
	}
	if len(waiting) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Not answered yet", Value: strings.Join(waiting, "; ")})
	}
	reply.Buttons = []bot.Button{stopButton("Answer for the reserve", "at", u.Key+":"+kit.Reserve), stopButton("Lift it (lead)", "lift", u.Key)}
	return reply
}

func (r *Request) stopUseList(open []kit.StopUse) bot.Reply {
	if len(open) == 0 {
		return bot.Reply{Text: "Nothing is under stop-use. To ask for one, name the tool: stop using the air wedges, lot 7, one burst."}
	}
	reply := bot.Reply{Title: "Stop-use", Text: plural(len(open), "tool") + " not to be used:"}
	for _, u := range open {
		line := r.stopName(u) + ", since " + r.day(u.At)
		if !u.Called {
			line = r.stopName(u) + ": asked for, not called yet"
		}
		reply.Steps = append(reply.Steps, line)
		reply.Buttons = append(reply.Buttons, stopButton(r.stopName(u), "see", u.Key))
	}
	return reply
}

// underStopUse is why a kit's item may not be used, or "".
func (r *Request) underStopUse(stops []kit.StopUse, kitID, item string, qty int) string {
	for _, u := range stops {
		if u.Concerns(kitID, item) && u.Left(kitID, qty) == 0 {
			return fmt.Sprintf("The %s is under stop-use since %s.", r.itemName(item), r.day(u.At))
		}
	}
	return ""
}
