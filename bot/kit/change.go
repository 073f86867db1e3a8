package kit

// ListChange is one difference between two versions of the kit list: From pieces
// before, To pieces after. From 0 adds the item, To 0 drops it.
type ListChange struct {
	Item     string
	From, To int
}

// Changes lists what brings a kit packed to list old to list new: first in the
// order of the old list, then what the new one adds.
func Changes(old, new List) []ListChange {
	var changes []ListChange
	for _, l := range old.Lines {
		if on, _ := new.Line(l.Item); on.Qty != l.Qty {
			changes = append(changes, ListChange{l.Item, l.Qty, on.Qty})
		}
	}
	for _, l := range new.Lines {
		if _, had := old.Line(l.Item); !had {
			changes = append(changes, ListChange{l.Item, 0, l.Qty})
		}
	}
	return changes
}
