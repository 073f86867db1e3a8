package measure

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// Question is one example: a question with the cards that answer it.
type Question struct {
	ID     string
	Style  string   // how it is asked: plain, terse, slang, typo …
	Text   string   // as typed
	Accept []string // card ids that are a right first answer; none when no card answers
	Useful []string // card ids that also help
}

// Answerable tells whether some card answers.
func (q Question) Answerable() bool { return len(q.Accept) > 0 }

// questionColumns is the first line of a file of questions.
const questionColumns = "id\tstyle\tquestion\taccept\tgrade2"

// noCard stands in the accept column of a question that no card answers.
const noCard = "NONE"

// ReadQuestions reads a file of questions: five columns divided by tabs, no
// quoting, named in the first line id, style, question, accept, grade2. Ids in
// a column are divided by commas; accept is NONE when no card answers. An error
// names the line.
func ReadQuestions(r io.Reader) ([]Question, error) {
	lines := bufio.NewScanner(r)
	if !lines.Scan() || lines.Text() != questionColumns {
		return nil, fmt.Errorf("read questions: the first line must name the columns %q", questionColumns)
	}
	var questions []Question
	for n := 2; lines.Scan(); n++ {
		if lines.Text() == "" {
			continue
		}
		cells := strings.Split(lines.Text(), "\t")
		if len(cells) != 5 || cells[2] == "" || cells[3] == "" {
			return nil, fmt.Errorf("read questions: line %d needs five columns with a question and its cards", n)
		}
		q := Question{ID: cells[0], Style: cells[1], Text: cells[2], Useful: ids(cells[4])}
		if cells[3] != noCard {
			q.Accept = ids(cells[3])
		}
		questions = append(questions, q)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("read questions: %w", err)
	}
	return questions, nil
}

func ids(cell string) []string {
	return strings.FieldsFunc(cell, func(r rune) bool { return r == ',' || r == ' ' })
}

// Asker answers a question with card ids, best first; none is to decline.
type Asker func(question string) []string

// QuestionScores sums up how a set of questions went. The shares are of the
// answerable questions, but Declined is of those that no card answers; a share
// of nothing is 0. A declined answerable question counts as wrong everywhere.
type QuestionScores struct {
	Answerable, Unanswerable int

	First       float64       // right first card
	WithinThree float64       // a right card among the first three
	MRR         float64       // mean of 1/place of the first right card
	NDCG        float64       // mean nDCG of the first ten: a right card gains 3, a useful one 2
	Refused     float64       // declined though a card answers
	Declined    float64       // declined, and rightly so
	Median      time.Duration // of the time a question took
	Slowest     time.Duration // 99th percentile
	Heard       float64       // answerable, and taken for a question by the reader too; 0 until Hear

	Misses  []Miss
	Unheard []string // answerable questions that the reader took for something else
}

// Miss is a question that was not answered rightly at first.
type Miss struct {
	Question Question
	Got      []string // empty when declined
}

// The gains of a card in nDCG.
const (
	rightGain  = 3
	usefulGain = 2
	ndcgDepth  = 10
)

// Questions asks every question and scores the answers.
func Questions(questions []Question, ask Asker) QuestionScores {
	var s QuestionScores
	times := make([]time.Duration, 0, len(questions))
	for _, q := range questions {
		start := time.Now()
		got := ask(q.Text)
		times = append(times, time.Since(start))
		if s.count(q, got) {
			continue
		}
		s.Misses = append(s.Misses, Miss{q, got})
	}
	s.divide()
	s.Median, s.Slowest = percentile(times, 50), percentile(times, 99)
	return s
}

// Hear adds what the way from a message to the cards costs: asks tells whether
// the bot takes a text for a question at all. The other figures are of the
// search alone.
func (s *QuestionScores) Hear(questions []Question, asks func(text string) bool) {
	for _, q := range questions {
		if q.Answerable() && !asks(q.Text) {
			s.Unheard = append(s.Unheard, q.Text)
		}
	}
	s.Heard = 1 - float64(len(s.Unheard))/float64(max(1, s.Answerable))
}

// count adds one question to the sums and tells whether it went right.
func (s *QuestionScores) count(q Question, got []string) bool {
	if !q.Answerable() {
		s.Unanswerable++
		if len(got) == 0 {
			s.Declined++
		}
		return len(got) == 0
	}
	s.Answerable++
	if len(got) == 0 {
		s.Refused++
	}
	place := slices.IndexFunc(got, func(id string) bool { return slices.Contains(q.Accept, id) })
	if place >= 0 {
		s.MRR += 1 / float64(place+1)
	}
	if place >= 0 && place < 3 {
		s.WithinThree++
	}
	s.NDCG += ndcg(q, got)
	if place == 0 {
		s.First++
	}
	return place == 0
}

func ndcg(q Question, got []string) float64 {
	gains := make([]float64, len(got))
	for i, id := range got {
		if slices.Contains(q.Accept, id) {
			gains[i] = rightGain
		} else if slices.Contains(q.Useful, id) {
			gains[i] = usefulGain
		}
	}
	all := slices.Concat(slices.Repeat([]float64{rightGain}, len(q.Accept)), slices.Repeat([]float64{usefulGain}, len(q.Useful)))
	return NDCG(gains, all, ndcgDepth)
}

func (s *QuestionScores) divide() {
	answerable, unanswerable := float64(max(1, s.Answerable)), float64(max(1, s.Unanswerable))
	for _, sum := range []*float64{&s.First, &s.WithinThree, &s.MRR, &s.NDCG, &s.Refused} {
		*sum /= answerable
	}
	s.Declined /= unanswerable
}

func percentile(times []time.Duration, p int) time.Duration {
	if len(times) == 0 {
		return 0
	}
	slices.Sort(times)
	return times[(len(times)-1)*p/100]
}

// Print writes the scores as a small table.
func (s QuestionScores) Print(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "questions a card answers   %6d\n", s.Answerable)
	fmt.Fprintf(&b, "  right first              %6.1f %%\n", 100*s.First)
	fmt.Fprintf(&b, "  right within three       %6.1f %%\n", 100*s.WithinThree)
	fmt.Fprintf(&b, "  mean reciprocal rank     %6.3f\n", s.MRR)
	fmt.Fprintf(&b, "  nDCG@10                  %6.3f\n", s.NDCG)
	fmt.Fprintf(&b, "  declined by mistake      %6.1f %%\n", 100*s.Refused)
	fmt.Fprintf(&b, "  taken for a question     %6.1f %%\n", 100*s.Heard)
	fmt.Fprintf(&b, "questions no card answers  %6d\n", s.Unanswerable)
	fmt.Fprintf(&b, "  declined                 %6.1f %%\n", 100*s.Declined)
	fmt.Fprintf(&b, "time median, 99th pct      %v, %v\n", s.Median.Round(time.Microsecond), s.Slowest.Round(time.Microsecond))
	return printed(io.WriteString(w, b.String()))
}

// PrintMisses writes what was not answered rightly at first.
func (s QuestionScores) PrintMisses(w io.Writer) error {
	var b strings.Builder
	for _, m := range s.Misses {
		fmt.Fprintf(&b, "%s [%s] %s\n    want %s, got %s\n", m.Question.ID, m.Question.Style, m.Question.Text,
			orNone(m.Question.Accept), orNone(m.Got[:min(3, len(m.Got))]))
	}
	for _, text := range s.Unheard {
		fmt.Fprintf(&b, "taken for something else: %s\n", text)
	}
	return printed(io.WriteString(w, b.String()))
}

// printed is what became of a write of figures.
func printed(_ int, err error) error {
	if err != nil {
		return fmt.Errorf("print a score: %w", err)
	}
	return nil
}

func orNone(ids []string) string {
	if len(ids) == 0 {
		return noCard
	}
	return strings.Join(ids, ", ")
}
