package knowledge

import (
	"fmt"

	"github.com/goccy/go-yaml"
)

// Topic is something crews ask about that no card covers: hose and pumps,
// medical care, the roster. Topics compete with the cards for a question; when
// they win, it is declined.
type Topic struct {
	Title string   `yaml:"title"`
	Words []string `yaml:"words"` // words and short phrases of the topic; a phrase counts as a whole
	Asks  []string `yaml:"asks"`  // questions about it, as crews type them
}

// Topics returns the topics beyond the cards that the program ships with.
func Topics() ([]Topic, error) {
	text, err := dataFiles.ReadFile("data/beyond.yaml")
	if err != nil {
		return nil, fmt.Errorf("read topics beyond the cards: %w", err)
	}
	var topics []Topic
	if err := yaml.UnmarshalWithOptions(text, &topics, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("read topics beyond the cards: %w", err)
	}
	return topics, nil
}
