package knowledge_test

import (
	"math"
	"testing"

	"kitbell/knowledge"
)

// The worked example of Croft, Metzler and Strohman, Search Engines (2009),
// 7.2.2: 500,000 documents, a document 0.9 times as long as the mean, k1 1.2,
// b 0.75; two terms with df 40,000 and 300, tf 15 and 25. At full precision
// 5.003 + 15.622 = 20.625; the book rounds on the way and prints 20.66.
func TestBM25WorkedExample(t *testing.T) {
	const n, k1, b, relative = 500_000, 1.2, 0.75, 0.9
	term := func(df int, tf float64) float64 {
		return math.Log(knowledge.Odds(n, df)) * knowledge.Saturation(tf, relative, 1, k1, b)
	}
	for _, tt := range []struct{ got, want float64 }{
		{term(40_000, 15), 5.003}, {term(300, 25), 15.622}, {term(40_000, 15) + term(300, 25), 20.625},
	} {
		if math.Abs(tt.got-tt.want) > 0.0005 {
			t.Errorf("got %.4f, want %.3f", tt.got, tt.want)
		}
	}
}

func TestSaturation(t *testing.T) {
	if got := knowledge.Saturation(0, 10, 10, 1.2, 0.75); got != 0 {
		t.Errorf("a term that is not there weighs %v", got)
	}
	if got := knowledge.Saturation(1e9, 10, 10, 1.2, 0.75); math.Abs(got-2.2) > 1e-6 {
		t.Errorf("a term said over and over weighs %v, want k1+1", got)
	}
	if long, short := knowledge.Saturation(1, 20, 10, 1.2, 0.75), knowledge.Saturation(1, 5, 10, 1.2, 0.75); long >= short {
		t.Errorf("a long field gives %v, a short one %v", long, short)
	}
	if got := knowledge.Saturation(1, 0, 0, 1.2, 0.75); math.IsNaN(got) {
		t.Error("no fields give NaN")
	}
}
