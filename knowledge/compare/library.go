package main

import (
	"fmt"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/lang/en"
	"github.com/blevesearch/bleve/v2/analysis/token/lowercase"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/unicode"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/mapping"
	"github.com/blevesearch/bleve/v2/search/query"
	index "github.com/blevesearch/bleve_index_api"

	"kitbell/knowledge"
)

// setup is one way to set up the search library. Each is what its handbook
// offers: an English analyzer, fields with boosts, a disjunction of match
// queries, and for typing errors a second, fuzzy match that counts less.
type setup struct {
	name     string
	analyzer string             // see analyzers
	scoring  string             // the library's name for its scoring model
	boosts   map[string]float64 // by field; nil puts all text into one field
	fuzzy    float64            // boost of matches one edit away; 0 leaves them out
}

// keepsAll is the English analyzer without its stop list, which takes out what,
// how, when and where.
const keepsAll = "en without stop words"

// tuned are the boosts that "go run . -tune" found best on own.tsv for "all
// words BM25"; those it finds for the other set-ups with fields differ little.
var tuned = map[string]float64{"title": 0.5, "aliases": 0.5, "asks": 4, "body": 1}

// setups are the set-ups shown, the plainest first.
func setups() []setup {
	return []setup{
		{name: "one field", analyzer: en.AnalyzerName, scoring: index.TFIDFScoring},
		{name: "fields", analyzer: en.AnalyzerName, scoring: index.TFIDFScoring, boosts: tuned},
		{name: "fields BM25", analyzer: en.AnalyzerName, scoring: index.BM25Scoring, boosts: tuned},
		{name: "all words BM25", analyzer: keepsAll, scoring: index.BM25Scoring, boosts: tuned},
		{name: "all words BM25 fuzzy", analyzer: keepsAll, scoring: index.BM25Scoring, boosts: tuned, fuzzy: 0.3},
	}
}

func (s setup) engine() engine {
	words := []string{s.analyzer, s.scoring}
	if s.boosts == nil {
		words = append(words, "all text in one field")
	} else {
		words = append(words, fmt.Sprintf("boosts title %g, aliases %g, asks %g, body %g",
			s.boosts["title"], s.boosts["aliases"], s.boosts["asks"], s.boosts["body"]))
	}
	if s.fuzzy > 0 {
		words = append(words, fmt.Sprintf("fuzziness 1 at boost %g", s.fuzzy))
	}
	return engine{"bleve: " + s.name, strings.Join(words, "; "), s.build}
}

func (s setup) build(cards []*knowledge.Card) (searcher, error) {
	m, err := s.mapping()
	if err != nil {
		return nil, err
	}
	// NewMemOnly would take an older kind of index, slower and without BM25.
	idx, err := bleve.NewUsing("", m, scorch.Name, scorch.Name, nil)
	if err != nil {
		return nil, fmt.Errorf("make index: %w", err)
	}
	batch := idx.NewBatch()
	for _, c := range cards {
		if err := batch.Index(c.ID, s.document(c)); err != nil {
			return nil, fmt.Errorf("index %s: %w", c.ID, err)
		}
	}
	if err := idx.Batch(batch); err != nil {
		return nil, fmt.Errorf("index cards: %w", err)
	}
	return librarySearcher{idx, s}, nil
}

func (s setup) mapping() (mapping.IndexMapping, error) {
	m := bleve.NewIndexMapping()
	err := m.AddCustomAnalyzer(keepsAll, map[string]any{
		"type": custom.Name, "tokenizer": unicode.Name,
		"token_filters": []string{en.PossessiveName, lowercase.Name, en.SnowballStemmerName},
	})
	if err != nil {
		return nil, fmt.Errorf("make analyzer: %w", err)
	}
	m.ScoringModel = s.scoring
	m.DefaultAnalyzer = s.analyzer
	text := bleve.NewTextFieldMapping()
	text.Analyzer, text.Store, text.IncludeTermVectors, text.DocValues, text.IncludeInAll = s.analyzer, false, false, false, false
	for _, field := range s.fields() {
		m.DefaultMapping.AddFieldMappingsAt(field, text)
	}
	return m, nil
}

func (s setup) fields() []string {
	if s.boosts == nil {
		return []string{"all"}
	}
	return []string{"title", "aliases", "asks", "body"}
}

// document is what the library indexes of a card: the same text that kitbell's
// index reads.
func (s setup) document(c *knowledge.Card) map[string]any {
	body := []string{c.Intro}
	for _, section := range c.Sections {
		body = append(body, section.Title)
		body = append(body, section.Texts()...)
	}
	fields := map[string]any{"title": c.Title, "aliases": strings.Join(c.Aliases, "\n"), "asks": strings.Join(c.Asks, "\n"), "body": strings.Join(body, "\n")}
	if s.boosts != nil {
		return fields
	}
	return map[string]any{"all": fmt.Sprint(fields["title"], "\n", fields["aliases"], "\n", fields["asks"], "\n", fields["body"])}
}

type librarySearcher struct {
	index bleve.Index
	setup setup
}

func (s librarySearcher) search(question string) ([]string, float64, error) {
	request := bleve.NewSearchRequestOptions(s.query(question), depth, 0, false)
	result, err := s.index.Search(request)
	if err != nil {
		return nil, 0, fmt.Errorf("search %q: %w", question, err)
	}
	ids := make([]string, len(result.Hits))
	for i, hit := range result.Hits {
		ids[i] = hit.ID
	}
	return ids, result.MaxScore, nil
}

func (s librarySearcher) query(question string) query.Query {
	var any []query.Query
	for _, field := range s.setup.fields() {
		boost := 1.0
		if s.setup.boosts != nil {
			boost = s.setup.boosts[field]
		}
		any = append(any, match(question, field, boost, 0))
		if s.setup.fuzzy > 0 {
			any = append(any, match(question, field, boost*s.setup.fuzzy, 1))
		}
	}
	return bleve.NewDisjunctionQuery(any...)
}

func match(question, field string, boost float64, fuzziness int) query.Query {
	q := bleve.NewMatchQuery(question)
	q.SetField(field)
	q.SetBoost(boost)
	q.SetFuzziness(fuzziness)
	return q
}

func (s librarySearcher) close() error { return s.index.Close() }
