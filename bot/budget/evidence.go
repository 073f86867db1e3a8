package budget

import (
	"cmp"
	"slices"
)

// evidence are the records that a line rests on, as they stand in the draft: what
// went, of lines that go by wear; what crews lacked, of lines that add something;
// and the receipt that its price is from.
func (d *draft) evidence(l Line) []int {
	var at []int
	switch l.Kind {
	case ByWear, Consumables, SpareParts:
		at = d.cited[l.Item]
	case Conversion, WishLine:
		at = d.lacked(l.Item)
	}
	if l.Price.Source == Receipt {
		return withOne(at, d.receipt(l.Item))
	}
	return at
}

// lacked are the records of crews that wanted an item and had none, or were short
// of it.
func (d *draft) lacked(item string) []int {
	var at []int
	for _, i := range d.byItem[item] {
		if kind := d.records[i].Kind; kind != Used && kind != Paid {
			at = append(at, i)
		}
	}
	return at
}

// receipt is the last payment for an item that gives a price.
func (d *draft) receipt(item string) int {
	for _, i := range slices.Backward(d.byItem[item]) {
		if d.records[i].gives() {
			return i
		}
	}
	return -1
}

// gives says whether a record gives a price.
func (r Record) gives() bool { return r.Kind == Paid && r.Count > 0 && r.Cents > 0 }

// withOne is a sorted list with one more in its place.
func withOne(at []int, one int) []int {
	i, there := slices.BinarySearch(at, one)
	if there || one < 0 {
		return at
	}
	return slices.Insert(slices.Clone(at), i, one)
}

// sortLines puts the lines in the order of their years, then their kinds.
func (r *Request) sortLines() {
	kinds := LineKinds()
	slices.SortStableFunc(r.Lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(a.Year, b.Year), cmp.Compare(slices.Index(kinds, a.Kind), slices.Index(kinds, b.Kind)))
	})
}

// keepCited gives the request the records that its lines rest on, and no others.
func (d *draft) keepCited() {
	used := make([]bool, len(d.records))
	for _, l := range d.request.Lines {
		for _, i := range l.Evidence {
			used[i] = true
		}
	}
	place := make([]int, len(d.records))
	for i, r := range d.records {
		if used[i] {
			place[i] = len(d.request.Records)
			d.request.Records = append(d.request.Records, r)
		}
	}
	for n, l := range d.request.Lines {
		evidence := make([]int, len(l.Evidence)) // lines of one item share theirs
		for k, i := range l.Evidence {
			evidence[k] = place[i]
		}
		d.request.Lines[n].Evidence = evidence
	}
}
