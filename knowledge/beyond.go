package knowledge

import (
	"fmt"

	"github.com/goccy/go-yaml"
)

// topic is something crews ask about that no card covers: hose and pumps,
// medical care, the roster. Topics compete with the cards for a question; when
// one wins, the question is declined and the topic named.
type topic struct {
	Title string   `yaml:"title"`
	Words []string `yaml:"words"` // words and short phrases of the topic
}

func loadBeyond() ([]topic, error) {
	text, err := dataFiles.ReadFile("data/beyond.yaml")
	if err != nil {
		return nil, fmt.Errorf("read topics beyond the cards: %w", err)
	}
	var topics []topic
	if err := yaml.UnmarshalWithOptions(text, &topics, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("read topics beyond the cards: %w", err)
	}
	return topics, nil
}
