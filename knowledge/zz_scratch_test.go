package knowledge_test

import (
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

func TestScratch(t *testing.T) {
	if os.Getenv("SCRATCH") == "" {
		t.Skip()
	}
	lib, problems := knowledge.Load(knowledge.Cards())
	for _, p := range problems {
		fmt.Println(p)
	}
	r, _ := knowledge.DefaultRanking()
	if os.Getenv("RANK") != "" {
		if err := yaml.Unmarshal([]byte(os.Getenv("RANK")), &r); err != nil {
			t.Fatal(err)
		}
	}
	idx, err := knowledge.NewIndexRanked(lib, r)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range strings.Fields(os.Getenv("SCRATCH")) {
		rd, _ := os.Open(f)
		qs, err := measure.ReadQuestions(rd)
		if err != nil {
			t.Fatal(err)
		}
		declined := map[string]string{}
		type pt struct {
			share float64
			yes   bool
		}
		var pts []pt
		s := measure.Questions(qs, func(q string) []string {
			found := idx.Search(q, 10)
			var ids []string
			for _, h := range found.Hits {
				ids = append(ids, h.ID)
			}
			sh := 0.0
			if len(found.Hits) > 0 {
				sh = found.Hits[0].Share
			}
			d := fmt.Sprintf("%.2f beyond=%q read=%v", sh, found.Beyond, found.Read)
			for _, h := range found.Hits[:min(3, len(found.Hits))] {
				d += fmt.Sprintf(" %s %.3f;", h.ID, h.Share)
			}
			if found.Beyond == "" {
				for _, qq := range qs {
					if qq.Text == q {
						pts = append(pts, pt{sh, qq.Answerable()})
					}
				}
			}
			if found.Verdict == knowledge.Declined {
				d = "DECLINED " + d
			}
			declined[q] = d
			if os.Getenv("NODECL") != "" {
				return ids
			}
			if found.Verdict == knowledge.Declined {
				return nil
			}
			return ids
		})
		fmt.Printf("%s first %.1f three %.1f ndcg %.3f refused %.1f declined %.1f median %v\n", f[strings.LastIndex(f, "/")+1:], s.First*100, s.WithinThree*100, s.NDCG, s.Refused*100, s.Declined*100, s.Median)
		sort.Slice(pts, func(i, j int) bool { return pts[i].share < pts[j].share })
		if os.Getenv("PTS") != "" {
			y, n := 0, 0
			for _, p := range pts {
				if p.yes {
					y++
				} else {
					n++
				}
				fmt.Printf("%.3f %v y%d n%d\n", p.share, p.yes, y, n)
				if y > 20 {
					break
				}
			}
		}
		if os.Getenv("MISS") != "" && !strings.Contains(f, "held") {
			for _, m := range s.Misses {
				fmt.Printf("%s [%s] %s\n    want %v: %s\n", m.Question.ID, m.Question.Style, m.Question.Text, m.Question.Accept, declined[m.Question.Text])
			}
		}
	}
}
