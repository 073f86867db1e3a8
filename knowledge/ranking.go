package knowledge

import (
	"fmt"

	"github.com/goccy/go-yaml"
)

// Ranking is how cards are scored and when a score is good enough. The values
// are data (data/ranking.yaml). "go test ./bot/measure -run Ranking -tune -v" looks
// for better weights, "-run Threshold -tune" writes the threshold to answer.
type Ranking struct {
	K1   float64      `yaml:"k1"`   // BM25: how soon a word said again stops adding
	Name FieldRanking `yaml:"name"` // title and aliases
	All  FieldRanking `yaml:"all"`  // title, aliases, asks and body

	BestAsk float64 `yaml:"best_ask"` // share of the score given by the ask that is most alike, 0 to 1
	AskSide float64 `yaml:"ask_side"` // how much of an ask must be in the question, against the other way round, 0 to 1
	Kind    float64 `yaml:"kind"`     // the most that sounding like the card's kind of question adds to a share

	Thesaurus float64 `yaml:"thesaurus"` // weight of a word that the thesaurus put in
	Unknown   float64 `yaml:"unknown"`   // weight of a word no card has, as a share of the rarest word's
	Plain     float64 `yaml:"plain"`     // weight of a word of everyday talk, as a share of its own
	NotAbout  float64 `yaml:"not_about"` // taken off the share when the question names what a card is not about
	Beyond    float64 `yaml:"beyond"`    // weight of a topic beyond the cards against a card that has the same words

	Answer      float64 `yaml:"answer"`       // least share at which a card answers
	OfferWithin float64 `yaml:"offer_within"` // two cards closer than this are offered, not answered
}

// FieldRanking is how one field of a card counts.
type FieldRanking struct {
	Weight float64 `yaml:"weight"` // against the other fields
	B      float64 `yaml:"b"`      // BM25: how much a long field is held against it, 0 to 1
}

// DefaultRanking returns the ranking that the program ships with.
func DefaultRanking() (Ranking, error) {
	var r Ranking
	text, err := dataFiles.ReadFile("data/ranking.yaml")
	if err != nil {
		return r, fmt.Errorf("read ranking: %w", err)
	}
	if err := yaml.UnmarshalWithOptions(text, &r, yaml.Strict()); err != nil {
		return r, fmt.Errorf("read ranking: %w", err)
	}
	return r, nil
}
