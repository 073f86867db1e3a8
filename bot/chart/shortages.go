package chart

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Shortages is what is short, by item, most first.
type Shortages struct {
	Title string
	Items []Count // in any order; those past the 20 most are drawn as one
}

// Count is how many of an item are short.
type Count struct {
	Item  string
	Count int
}

const (
	mostItems   = 20
	noShortages = "Nothing is short."
)

// Draw gives a bar for each item with its count written out. ErrData refuses a
// count below zero, an item without a name and one that stands twice.
func (c Shortages) Draw(o Options) (Picture, error) {
	picture, err := o.draw(c)
	if err != nil {
		return Picture{}, fmt.Errorf("draw shortages: %w", err)
	}
	return picture, nil
}

func (c Shortages) layOut() (*sketch, string, error) {
	items, err := c.sorted()
	if err != nil {
		return nil, "", err
	}
	s := newSketch(c.Title)
	if len(items) == 0 {
		s.say(noShortages)
	}
	drawn := grouped(items)
	var bars []bar
	for _, item := range drawn {
		bars = append(bars, bar{item.Item, fmt.Sprint(item.Count), float64(item.Count) / float64(most(drawn)), middle})
	}
	drawBars(s, bars, false)
	s.end()
	return s, c.alt(items), nil
}

// sorted are the items of which any is short, most first.
func (c Shortages) sorted() ([]Count, error) {
	seen := map[string]bool{}
	var items []Count
	for _, item := range c.Items {
		if item.Count < 0 || clean(item.Item) == "" || seen[item.Item] {
			return nil, fmt.Errorf("%w: %d of item %q", ErrData, item.Count, item.Item)
		}
		seen[item.Item] = true
		if item.Count > 0 {
			items = append(items, item)
		}
	}
	slices.SortFunc(items, func(a, b Count) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), strings.Compare(a.Item, b.Item))
	})
	return items, nil
}

// grouped makes one of all items past the most that are drawn.
func grouped(items []Count) []Count {
	if len(items) <= mostItems {
		return items
	}
	rest := Count{Item: fmt.Sprintf("%d others together", len(items)-mostItems)}
	for _, item := range items[mostItems:] {
		rest.Count += item.Count
	}
	return append(slices.Clone(items[:mostItems]), rest)
}

func most(items []Count) int {
	greatest := 0
	for _, item := range items {
		greatest = max(greatest, item.Count)
	}
	return greatest
}

func (c Shortages) alt(items []Count) string {
	if len(items) == 0 {
		return c.Title + ". " + noShortages
	}
	total := 0
	var parts []string
	for _, item := range items {
		total += item.Count
		parts = append(parts, fmt.Sprintf("%s %d", item.Item, item.Count))
	}
	return fmt.Sprintf("%s. %d short, of %s: %s.", c.Title, total, plural(len(items), "item"), strings.Join(parts, ", "))
}
