package training

import (
	"fmt"
	"time"
)

// Why names what brought a drill to the front.
type Why string

// What brings a drill to the front, the strongest first.
const (
	NewTool   Why = "new tool"  // the crew carries a tool that it has not drilled
	MustKnow  Why = "must know" // its quarter leaves no room for anything else
	Forgotten Why = "forgotten" // most expected benefit
)

func whys() []Why { return []Why{NewTool, MustKnow, Forgotten} }

// Reason is why a drill was chosen, as data. Recall and Worth come from models:
// whoever shows them says that they are assumed.
type Reason struct {
	Why    Why
	Hands  bool      // it is done by hand
	Tool   string    // new tool: which
	Since  time.Time // new tool: carried since
	By     time.Time // must know: when its quarter is over
	Drills int       // that the crew has had of the topic; 0 for never
	Ago    int       // whole days since the last of them
	Recall float64   // chance that the crew still has it
	Worth  float64   // minutes that an average entry costs more when it is forgotten, marks' worth included; 0 when nobody said
}

// Words says it in plain words, below the drill's title. name is what the crew
// calls the tool, where the reason is a new one.
func (r Reason) Words(name string) string {
	switch r.Why {
	case NewTool:
		return fmt.Sprintf("The %s is new to your crew, and you have not drilled it yet.", name)
	case MustKnow:
		return "Every crew is to drill this at least once a quarter. " + r.last("Yours", "has not yet", "did")
	}
	words := r.last("Your crew", "has not drilled it yet", "drilled it")
	if r.Drills > 0 {
		words += fmt.Sprintf(" About %.0f in 100 crews would still have it (assumed).", 100*r.Recall)
	}
	if r.Worth >= tellWorth {
		words += fmt.Sprintf(" Without it an average entry costs about %.1f minutes more, marks counted as minutes (assumed).", r.Worth)
	}
	return words
}

// tellWorth is the least worth, in minutes, that is worth a sentence.
const tellWorth = 0.1

func (r Reason) last(crew, never, did string) string {
	switch {
	case r.Drills == 0:
		return fmt.Sprintf("%s %s.", crew, never)
	case r.Ago == 0:
		return fmt.Sprintf("%s last %s today.", crew, did)
	case r.Ago == 1:
		return fmt.Sprintf("%s last %s yesterday.", crew, did)
	}
	return fmt.Sprintf("%s last %s %d days ago.", crew, did, r.Ago)
}
