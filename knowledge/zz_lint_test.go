package knowledge_test

import (
	"fmt"
	"testing"

	"kitbell/knowledge"
)

func TestLintScratch(t *testing.T) {
	l, ps := knowledge.Load(knowledge.Cards())
	more, err := knowledge.Lint(l)
	fmt.Println(err)
	for _, p := range append(ps, more...) {
		fmt.Println(p)
	}
}
