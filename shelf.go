package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"runtime/debug"
	"sync"

	"kitbell/bot/door"
	"kitbell/knowledge"
)

// shelf is a set of cards made ready: their index, and what their techniques
// can do at a door. It is never changed, so departments share one.
type shelf struct {
	library *knowledge.Library
	index   func() *knowledge.Index // makes it, or waits until it is made
	planner *door.Planner
}

// embedded is the program's own shelf, made when it is first asked for. All
// departments without cards of their own share it.
var embedded = sync.OnceValues(func() (*shelf, error) {
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		return nil, cardsError(problems)
	}
	return newShelf(library, nil)
})

// ownCards and ownAssumptions are what a department's folder may hold besides
// its file: cards of its own, and figures of its own for the door model.
const (
	ownCards       = "cards"
	ownAssumptions = "assumptions.yaml"
)

// openShelf is the program's cards with a department's own cards and figures
// laid over them, from the department's folder. previous is what serves until
// now, whose cards stay where a file cannot be read; refused says which those
// are. Without previous they are an error.
func openShelf(folder fs.FS, previous *shelf) (s *shelf, refused []string, err error) {
	base, err := embedded()
	if err != nil {
		return nil, nil, err
	}
	library, problems, err := overlay(base.library, folder, previous)
	if err == nil && len(problems) > 0 && previous == nil {
		err = cardsError(problems)
	}
	if err != nil {
		return nil, nil, err
	}
	for _, p := range problems {
		refused = append(refused, p.Error())
	}
	figures, err := fs.ReadFile(folder, ownAssumptions)
	if errors.Is(err, fs.ErrNotExist) && library == base.library {
		return base, refused, nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, fmt.Errorf("read %s: %w", ownAssumptions, err)
	}
	s, err = newShelf(library, figures)
	return s, refused, err
}

// overlay lays the cards of a department's folder over a library, which it
// returns as it is where there are none.
func overlay(base *knowledge.Library, folder fs.FS, previous *shelf) (*knowledge.Library, []knowledge.Problem, error) {
	if _, err := fs.Stat(folder, ownCards); errors.Is(err, fs.ErrNotExist) {
		return base, nil, nil
	}
	own, err := fs.Sub(folder, ownCards)
	if err != nil {
		return nil, nil, fmt.Errorf("open own cards: %w", err)
	}
	var serving *knowledge.Library
	if previous != nil {
		serving = previous.library
	}
	library, problems := base.Overlay(own, serving)
	for i := range problems {
		problems[i].File = path.Join(ownCards, problems[i].File)
	}
	return library, problems, nil
}

// newShelf makes cards ready, with a department's own figures where it has
// some. The index learns from the cards, which takes longer than all the rest
// of a start, so it is made when it is first asked for.
func newShelf(library *knowledge.Library, figures []byte) (*shelf, error) {
	planner, err := newPlanner(library, figures)
	if err != nil {
		return nil, fmt.Errorf("make cards ready: %w", err)
	}
	index := sync.OnceValue(func() *knowledge.Index {
		defer debug.FreeOSMemory() // learning leaves garbage that a program at rest should not hold
		return must(knowledge.NewIndex(library))
	})
	return &shelf{library: library, planner: planner, index: index}, nil
}

// must is for calls that fail only when the program's own data is broken, which
// the tests would have shown.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// cardsError is every problem of the cards in one error.
func cardsError(problems []knowledge.Problem) error {
	errs := make([]error, len(problems))
	for i, p := range problems {
		errs[i] = p
	}
	return fmt.Errorf("read cards: %w", errors.Join(errs...))
}

// newPlanner reads every technique card's plan.
func newPlanner(library *knowledge.Library, figures []byte) (*door.Planner, error) {
	assumptions, err := door.DefaultAssumptions()
	if err == nil && figures != nil {
		assumptions, err = assumptions.Override(figures)
	}
	if err != nil {
		return nil, fmt.Errorf("read assumptions: %w", err)
	}
	var techniques []door.Technique
	for _, c := range library.All() {
		if len(c.Plan) == 0 {
			continue
		}
		t, err := door.ParseTechnique(c.ID, c.Title, c.Plan)
		if err != nil {
			return nil, fmt.Errorf("read plan of %s: %w", c.File, err)
		}
		techniques = append(techniques, t)
	}
	planner, err := door.NewPlanner(assumptions, techniques)
	if err != nil {
		return nil, fmt.Errorf("read techniques: %w", err)
	}
	return planner, nil
}
