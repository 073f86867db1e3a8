package knowledge

import (
	"fmt"

	"github.com/goccy/go-yaml"
)

// Ranking is how cards are scored and when a score is good enough. The values
// are data (data/ranking.yaml); "go test ./bot/measure -run Fit -tune -v" fits
// Order and Trust anew and writes them there.
type Ranking struct {
	K1   float64      `yaml:"k1"`   // BM25: how soon a word said again stops adding
	Name FieldRanking `yaml:"name"` // title and aliases
	All  FieldRanking `yaml:"all"`  // title, aliases, asks and body

	AskSide   float64 `yaml:"ask_side"`  // how much of an ask must be in the question, against the other way round, 0 to 1
	Thesaurus float64 `yaml:"thesaurus"` // weight of a word that the thesaurus put in
	Unknown   float64 `yaml:"unknown"`   // weight of a word no card has, as a share of the rarest word's
	Plain     float64 `yaml:"plain"`     // weight of a word of everyday talk, as a share of its own

	Order       Order   `yaml:"order"`
	Trust       Trust   `yaml:"trust"`
	OfferWithin float64 `yaml:"offer_within"` // cards whose scores are closer than this are offered, not answered
}

// Order weighs what speaks for a card against the other cards. The sum is the
// logarithm of how likely the card is, but for a constant.
type Order struct {
	Fields  float64 `yaml:"fields"`
	Ask     float64 `yaml:"ask"`
	Kind    float64 `yaml:"kind"`
	Learned float64 `yaml:"learned"`
}

// Trust weighs what speaks for a question being about the cards at all. The sum
// is the logarithm of the odds; from 0 up the best card answers.
type Trust struct {
	Bias    float64 `yaml:"bias"`
	Beyond  float64 `yaml:"beyond"`
	Topic   float64 `yaml:"topic"`
	Unknown float64 `yaml:"unknown"`
	Fields  float64 `yaml:"fields"`
	Ask     float64 `yaml:"ask"`
}

// Evidence is what speaks for a card, to be weighed by [Order].
type Evidence struct {
	Fields  float64 // share of the question's words, by weight, that the card has, 0 to 1
	Ask     float64 // likeness of its most alike ask, 0 to 1
	Kind    float64 // how likely a question put like this wants a card of this kind, 0 to 1
	Learned float64 // logarithm of how likely the card is by what the index learned
}

// Doubt is what speaks for or against a question being about the cards, to be
// weighed by [Trust] with the best card's evidence.
type Doubt struct {
	Beyond  float64 // logarithm of the odds, as learned, that it is about a topic beyond the cards
	Topic   float64 // share of the question's words that the best topic's sayings have, 0 to 1
	Unknown float64 // share of its words that neither cards nor topics have, 0 to 1
}

func (o Order) score(e Evidence) float64 {
	return o.Fields*e.Fields + o.Ask*e.Ask + o.Kind*e.Kind + o.Learned*e.Learned
}

func (t Trust) odds(d Doubt, best Evidence) float64 {
	return t.Bias + t.Beyond*d.Beyond + t.Topic*d.Topic + t.Unknown*d.Unknown + t.Fields*best.Fields + t.Ask*best.Ask
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
