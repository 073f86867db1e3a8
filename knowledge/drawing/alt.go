package drawing

import (
	"maps"
	"slices"
	"strings"
)

// Alt says in plain words what the drawing shows, in a few short sentences.
func (s Scene) Alt() string {
	sentences := []string{s.viewWords()}
	if swing := s.swingWords(); swing != "" {
		sentences = append(sentences, swing)
	}
	if s.Gap != Normal && (s.View == Plan || s.View == Lock) {
		sentences = append(sentences, "The gap at the latch is "+string(s.Gap)+".")
	}
	for _, part := range s.Parts {
		if alt := partWords[part].alt; alt != "" {
			sentences = append(sentences, s.fill(alt))
		}
	}
	for _, tool := range s.Tools {
		sentences = append(sentences, s.fill(toolWords[tool].alt))
	}
	if push := s.pushWords(); push != "" {
		sentences = append(sentences, push)
	}
	if sizes := s.sizes(); len(sizes) > 0 {
		sentences = append(sentences, "Marked: "+strings.Join(sizes, "; ")+".")
	}
	if s.Caption != "" {
		sentences = append(sentences, strings.TrimRight(s.Caption, ".")+".")
	}
	return strings.Join(sentences, " ")
}

// sizes are the labels that carry a number.
func (s Scene) sizes() []string {
	var sizes []string
	for _, part := range slices.Sorted(maps.Keys(s.Labels)) {
		if label := s.Labels[part]; strings.ContainsAny(label, "0123456789") {
			sizes = append(sizes, label)
		}
	}
	return sizes
}

func (s Scene) viewWords() string {
	switch s.View {
	case Lock:
		return "The door and frame at the lock, seen from outside."
	case Edge:
		return "The lock edge of an open door, with you outside at the left."
	case Face:
		if s.seenFromInside() {
			return "The whole door, seen from inside."
		}
		return "The whole door, seen from outside."
	case Head:
		return "The top of the door, cut through and seen from the side, with you outside at the left."
	case Foot:
		return "The foot of the door, cut through and seen from the side, with you outside at the left."
	case Card:
		return "The tool, laid flat."
	}
	return "The door from above, cut through at the lock, with you outside at the bottom."
}

func (s Scene) swingWords() string {
	switch {
	case s.View != Plan && s.View != Edge && s.View != Lock:
		return ""
	case s.Swing == In:
		return "It opens away from you."
	}
	return "It opens toward you."
}

func (s Scene) pushWords() string {
	switch s.Push {
	case PushDoor:
		return "You push the door in."
	case PullDoor:
		return "You pull the door toward you."
	case EaseShut:
		return "You ease the door almost shut."
	case SpreadGap:
		return "The gap is made wider."
	}
	return ""
}

// fill puts in the words that depend on the swing.
func (s Scene) fill(sentence string) string {
	slope, stop := "away from you", "far"
	if s.Swing == In {
		slope, stop = "you", "near"
	}
	return strings.NewReplacer("{slope}", slope, "{stop}", stop).Replace(sentence)
}
