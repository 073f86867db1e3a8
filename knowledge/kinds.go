package knowledge

import "math"

// kindModel guesses from the way a question is put what kind of card it wants:
// "how do I recognise" a lock, "practise", "is it still usable". It is naive Bayes
// over words and pairs of words, the little ones too, learned from the cards'
// own asks.
type kindModel struct {
	counts  map[string]*[kindCount]float64 // feature → count by kind
	totals  [kindCount]float64
	lessons int
}

// enoughLessons is how many asks say all there is to say about how kinds are
// asked for; a library of many thousand cards need not be learned whole.
const enoughLessons = 20_000

const kindCount = 7

var kindNumber = map[Kind]int{Tool: 0, Hardware: 1, Technique: 2, Decision: 3, Hazard: 4, Care: 5, Drill: 6}

func newKindModel() *kindModel {
	return &kindModel{counts: map[string]*[kindCount]float64{}}
}

func (m *kindModel) learn(kind Kind, stems []string) {
	k, ok := kindNumber[kind]
	if !ok || m.lessons == enoughLessons {
		return
	}
	m.lessons++
	features := kindFeatures(stems)
	for _, f := range features {
		if m.counts[f] == nil {
			m.counts[f] = new([kindCount]float64)
		}
		m.counts[f][k]++
		m.totals[k]++
	}
}

// kindFeatures are the stems and each pair of neighbours.
func kindFeatures(stems []string) []string {
	features := make([]string, 0, 2*len(stems))
	before := "^"
	for _, s := range stems {
		features = append(features, s, before+" "+s)
		before = s
	}
	return features
}

// guess returns how likely each kind is, all alike when nothing is known.
func (m *kindModel) guess(stems []string) [kindCount]float64 {
	var logs [kindCount]float64
	smoothing, kinds := 0.5, float64(len(m.counts))
	for _, f := range kindFeatures(stems) {
		counts := m.counts[f]
		if counts == nil {
			continue
		}
		for k := range logs {
			logs[k] += math.Log((counts[k] + smoothing) / (m.totals[k] + smoothing*kinds))
		}
	}
	return kindShares(logs)
}

func kindShares(logs [kindCount]float64) [kindCount]float64 {
	highest := logs[0]
	for _, l := range logs {
		highest = max(highest, l)
	}
	var sum float64
	for k, l := range logs {
		// Naive Bayes is too sure of itself; the root tames it.
		logs[k] = math.Exp((l - highest) / 3)
		sum += logs[k]
	}
	for k := range logs {
		logs[k] /= sum
	}
	return logs
}
