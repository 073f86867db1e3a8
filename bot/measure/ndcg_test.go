package measure_test

import (
	"math"
	"testing"

	"kitbell/bot/measure"
)

// The worked example found in many texts on ranked retrieval: six results with
// gains 3, 2, 3, 0, 1, 2 and the discount log2(place+1). DCG 6.861, IDCG of the
// same six 7.141, nDCG 0.961. If two more with gains 3 and 2 were judged but
// not found, the ideal of six is 8.740 and nDCG 0.785 (an encyclopaedia's
// variant, from memory; the sums recomputed).
func TestNDCGWorkedExample(t *testing.T) {
	found := []float64{3, 2, 3, 0, 1, 2}
	judged := append([]float64{3, 2}, found...)
	for _, tt := range []struct {
		name      string
		got, want float64
	}{
		{"DCG", measure.DCG(found), 6.861},
		{"ideal", measure.DCG([]float64{3, 3, 2, 2, 1, 0}), 7.141},
		{"nDCG", measure.NDCG(found, found, 6), 0.961},
		{"ideal of all judged", measure.DCG([]float64{3, 3, 3, 2, 2, 2}), 8.740},
		{"nDCG of all judged", measure.NDCG(found, judged, 6), 0.785},
		{"exponential DCG", measure.DCG([]float64{7, 3, 7, 0, 1, 3}), 13.848},
		{"exponential nDCG", measure.NDCG([]float64{7, 3, 7, 0, 1, 3}, []float64{7, 3, 7, 0, 1, 3}, 6), 0.949},
	} {
		if math.Abs(tt.got-tt.want) > 0.0006 {
			t.Errorf("%s is %.4f, want %.3f", tt.name, tt.got, tt.want)
		}
	}
}

func TestNDCGWithoutGains(t *testing.T) {
	if got := measure.NDCG([]float64{0, 0}, nil, 10); got != 0 {
		t.Errorf("got %v", got)
	}
	if got := measure.NDCG(nil, []float64{3}, 10); got != 0 {
		t.Errorf("nothing found gives %v", got)
	}
}
