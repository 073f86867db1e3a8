package knowledge_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

type fold struct {
	lib *knowledge.Library
	qs  []measure.Question
}

func folds(lib *knowledge.Library, every int) []fold {
	var fs []fold
	for j := 0; j < 27; j += every {
		var cards []*knowledge.Card
		var qs []measure.Question
		for _, c := range lib.All() {
			d := *c
			if j < len(c.Asks) {
				d.Asks = slices.Delete(slices.Clone(c.Asks), j, j+1)
				qs = append(qs, measure.Question{ID: c.ID, Text: c.Asks[j], Accept: []string{c.ID}, Useful: c.Related})
			}
			cards = append(cards, &d)
		}
		fs = append(fs, fold{knowledge.NewLibrary(cards), qs})
	}
	return fs
}

func evalFolds(fs []fold, r knowledge.Ranking) (first, three, ndcg float64) {
	for _, f := range fs {
		idx, err := knowledge.NewIndexRanked(f.lib, r)
		if err != nil {
			panic(err)
		}
		s := measure.Questions(f.qs, func(q string) []string {
			var ids []string
			for _, h := range idx.Search(q, 10).Hits {
				ids = append(ids, h.ID)
			}
			return ids
		})
		first += s.First
		three += s.WithinThree
		ndcg += s.NDCG
	}
	n := float64(len(fs))
	return first / n, three / n, ndcg / n
}

func readQ(f string) []measure.Question {
	rd, _ := os.Open(f)
	qs, _ := measure.ReadQuestions(rd)
	return qs
}

func evalQ(lib *knowledge.Library, r knowledge.Ranking, qs []measure.Question) (first, three, ndcg float64) {
	idx, _ := knowledge.NewIndexRanked(lib, r)
	var a []measure.Question
	for _, q := range qs {
		if q.Answerable() {
			a = append(a, q)
		}
	}
	s := measure.Questions(a, func(q string) []string {
		var ids []string
		for _, h := range idx.Search(q, 10).Hits {
			ids = append(ids, h.ID)
		}
		return ids
	})
	return s.First, s.WithinThree, s.NDCG
}

func TestFolds(t *testing.T) {
	if os.Getenv("FOLDS") == "" {
		t.Skip()
	}
	lib, _ := knowledge.Load(knowledge.Cards())
	r, _ := knowledge.DefaultRanking()
	fs := folds(lib, 3)
	own := readQ("../testdata/questions/own.tsv")
	dev := readQ("../../shared/eval/questions-dev.tsv")
	show := func(name string, r knowledge.Ranking) float64 {
		f, th, n := evalFolds(fs, r)
		f2, th2, n2 := evalQ(lib, r, own)
		fmt.Printf("%-34s loao %.3f %.3f %.4f own %.3f %.3f %.4f", name, f, th, n, f2, th2, n2)
		f2, th2, n2 = evalQ(lib, r, dev)
		fmt.Printf("  dev %.3f %.3f %.4f\n", f2, th2, n2)
		return n
	}
	base := 0.0
	show("base", r)
	if e := os.Getenv("TRY"); e != "" {
		for _, t := range strings.Split(e, ";") {
			c := r
			if err := yaml.Unmarshal([]byte(t), &c); err != nil {
				panic(err)
			}
			show(t, c)
		}
	}
	if os.Getenv("FOLDS") == "1" {
		return
	}
	rng := rand.New(rand.NewPCG(1, 2))
	best := r
	bestV := base
	obj := func(c knowledge.Ranking) float64 {
		f, _, n := evalFolds(fs, c)
		f2, _, n2 := evalQ(lib, c, own)
		return f + n + 0.4*(f2+n2)
	}
	_ = base
	bestV = obj(r)
	jig := func(v *float64, lo, hi float64) {
		if rng.Float64() < 0.35 {
			*v = min(hi, max(lo, *v+(rng.Float64()-0.5)*(hi-lo)*0.5))
		}
	}
	for i := range 150 {
		c := best
		jig(&c.K1, 0.5, 5)
		jig(&c.Name.Weight, 0, 1)
		jig(&c.All.Weight, 0, 1)
		jig(&c.Name.B, 0, 1)
		jig(&c.All.B, 0, 1)
		jig(&c.BestAsk, 0, 1)
		jig(&c.AskSide, 0, 0.8)
		jig(&c.Thesaurus, 0.2, 1)
		jig(&c.Plain, 0.05, 1)
		jig(&c.Kind, 0, 0.2)
		sum := c.Name.Weight + c.All.Weight
		c.Name.Weight /= sum
		c.All.Weight /= sum
		if v := obj(c); v > bestV {
			bestV, best = v, c
			fmt.Printf("%d %+v\n", i, c)
			show("better", c)
		}
	}
	_ = strings.Join
}
