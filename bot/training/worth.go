package training

import "kitbell/bot/door"

// Worths is what forgetting costs by the door model, for Ask: of a technique, the
// minutes that an average entry takes longer when nobody of the crew can do it.
// What is no technique costs nothing by it, so it comes up as must-know, with a
// new tool, or when nothing else is left.
func Worths(skills []door.SkillWorth) func(topic string) float64 {
	minutes := make(map[string]float64, len(skills))
	for _, s := range skills {
		minutes[s.Technique] = s.Minutes
	}
	return func(topic string) float64 { return minutes[topic] }
}
