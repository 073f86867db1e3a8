package kit

// ListLine is one line of a kit list: how many of an item a kit holds.
type ListLine struct {
	Item       string // tool card id, or the department's own id
	Qty        int    // pieces in a complete kit
	Consumable bool   // used up in normal work
	Cents      int64  // price each, in cents of the department's currency; 0 when unknown
}

// List is one version of the department's kit list.
type List struct {
	Version int
	Lines   []ListLine
}

// Line finds an item's line; ok is false when the list does not carry it.
func (l List) Line(item string) (line ListLine, ok bool) {
	for _, line := range l.Lines {
		if line.Item == item {
			return line, true
		}
	}
	return ListLine{}, false
}

// PlaceKind says what sort of place a kit is at.
type PlaceKind string

// The places a kit can be at.
const (
	OnUnit  PlaceKind = "unit"  // At is a unit id
	OnShelf PlaceKind = "shelf" // At is a station id
	InShop  PlaceKind = "shop"
	Away    PlaceKind = "away"
)

// Place is where a kit is.
type Place struct {
	Kind PlaceKind
	At   string
}

// Kit is one bag of tools, with a number of its own. It keeps its number when
// it rides on another rig.
type Kit struct {
	ID    string // k07
	List  int    // version of the kit list that it is packed to
	Place Place
	Seal  string // number of the seal tag, empty when the kit is not sealed
}
