package command

import (
	"errors"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/knowledge/drawing"
)

// doorScene begins the scene key of one door. The key holds the door itself, a
// letter for each fact in door.AllFacts' order, and the tools of the step shown:
// door:acb-...-:shove-knife. So a picture can be drawn whenever it is sent, with
// nothing kept about the door.
const doorScene = "door:"

// unknownFact stands for a fact that nobody knows; a, b, c are the values in
// door.Values' order.
const unknownFact = '-'

// doorPicture shows this door with the tools of the next step.
func (r *Request) doorPicture() (Result, error) {
	plan, err := r.Plan()
	if err != nil {
		return Result{}, err
	}
	var tools []string
	now, _ := nowAndNext(plan.Steps)
	for _, s := range now {
		tools = append(tools, s.Tools...)
	}
	key := sceneOf(r.facts(), tools)
	scene, err := sceneOfKey(key)
	if err != nil {
		return Result{}, err
	}
	return Answer(bot.Reply{Text: "This door, as I understood it.", Pictures: []bot.Picture{{Scene: key, Alt: scene.Alt()}}}), nil
}

// sceneOf names a door's scene in at most bot.MaxButtonValue bytes; tools that
// do not fit are left out.
func sceneOf(f door.Facts, tools []string) string {
	var key strings.Builder
	key.WriteString(doorScene)
	for _, fact := range door.AllFacts() {
		letter := byte(unknownFact)
		for i, v := range door.Values(fact) {
			if v == f.Value(fact) {
				letter = 'a' + byte(i)
			}
		}
		key.WriteByte(letter)
	}
	separator := ":"
	for _, tool := range tools {
		if key.Len()+len(separator)+len(tool) <= bot.MaxButtonValue {
			key.WriteString(separator + tool)
			separator = "+"
		}
	}
	return key.String()
}

var errNoScene = errors.New("no scene of a door")

// sceneOfKey undoes sceneOf and draws the door up.
func sceneOfKey(key string) (drawing.Scene, error) {
	letters, tools, _ := strings.Cut(strings.TrimPrefix(key, doorScene), ":")
	if len(letters) != len(door.AllFacts()) {
		return drawing.Scene{}, fmt.Errorf("read scene %q: %w", key, errNoScene)
	}
	var f door.Facts
	for i, fact := range door.AllFacts() {
		values := door.Values(fact)
		at := int(letters[i]) - 'a'
		if letters[i] == unknownFact {
			continue
		}
		if at < 0 || at >= len(values) {
			return drawing.Scene{}, fmt.Errorf("read scene %q: %w", key, errNoScene)
		}
		if err := f.Set(fact, values[at]); err != nil {
			return drawing.Scene{}, fmt.Errorf("read scene %q: %w", key, err)
		}
	}
	seen := drawing.Facts{
		Swing: f.Value(door.FactSwing), Pair: f.Leaves == door.LeavesPair, Lock: f.Value(door.FactLock), Bolt: f.Bolt == door.Yes,
		Guard: f.Guard == door.Yes, Plunger: f.Value(door.FactPlunger), Gap: f.Value(door.FactGap),
		Lever: f.Lever == door.Yes, Thumbturn: f.Thumbturn == door.Yes, Sensor: f.Sensor == door.Yes,
	}
	if tools != "" {
		seen.Tools = strings.Split(tools, "+")
	}
	return drawing.ForDoor(seen), nil
}
