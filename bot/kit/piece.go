package kit

import "time"

// Piece is what is known of a kit's durable tool beside that it is there: since
// when it serves, and the number and lot that are marked on it. It is the body of
// a journal entry; a later one about the same item of the same kit takes the
// earlier one's place.
type Piece struct {
	Kit    string    `json:"kit"`
	Item   string    `json:"item"`
	Since  time.Time `json:"since,omitzero"`
	Number string    `json:"number,omitempty"`
	Lot    string    `json:"lot,omitempty"`
}

// Pieces folds entries, oldest first, into the last word about each kit's items,
// in the order in which they were first told of. What a later word leaves out
// stays as it was.
func Pieces(told []Piece) []Piece {
	var pieces []Piece
	at := map[[2]string]int{}
	for _, p := range told {
		key := [2]string{p.Kit, p.Item}
		i, known := at[key]
		if !known {
			at[key] = len(pieces)
			pieces = append(pieces, p)
			continue
		}
		if !p.Since.IsZero() {
			pieces[i].Since = p.Since
		}
		set(&pieces[i].Number, p.Number)
		set(&pieces[i].Lot, p.Lot)
	}
	return pieces
}
