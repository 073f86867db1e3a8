package budget

import (
	"errors"
	"fmt"
	"time"

	"kitbell/bot/kit"
)

// Terms is what a department reckons with.
type Terms struct {
	Currency   string  `json:"currency"` // ISO 4217 code
	Tax        Rate    `json:"tax"`      // of the goods
	Shipping   Rate    `json:"shipping"` // of the goods
	Escalation Rate    `json:"escalation"`
	LeadDays   int     `json:"lead_days"`  // from order to delivery
	Protection float64 `json:"protection"` // chance that a spare is there when one is needed
}

// ErrTerms is wrapped by what Build cannot reckon with.
var ErrTerms = errors.New("these terms make no request")

func (t Terms) check() error {
	for _, rate := range []Rate{t.Tax, t.Shipping, t.Escalation} {
		if rate < 0 || rate > one {
			return fmt.Errorf("%w: a rate is from 0 %% to 100 %%, not %s", ErrTerms, rate)
		}
	}
	if t.LeadDays < 0 || t.LeadDays > 3650 {
		return fmt.Errorf("%w: %d days from order to delivery", ErrTerms, t.LeadDays)
	}
	if !(t.Protection > 0 && t.Protection < 1) {
		return fmt.Errorf("%w: %w", ErrTerms, ErrLevel)
	}
	return nil
}

// PriceSource says where a price is from.
type PriceSource string

// The sources of a price, the best first but for the lead's.
const (
	Receipt     PriceSource = "receipt"
	ListPrice   PriceSource = "list price"
	AskersPrice PriceSource = "asker's price"
	LeadsPrice  PriceSource = "lead's price" // said with the line, and so before any other
	NoSource    PriceSource = ""             // no price is known
)

// Price is what one piece costs, and who says so.
type Price struct {
	Cents  int64       `json:"cents"`
	Source PriceSource `json:"source"`
	From   string      `json:"from,omitempty"` // whose list or quote
	Line   int         `json:"line,omitempty"` // queue line of the receipt
	On     string      `json:"on,omitempty"`   // day of the receipt, as 2027-03-15
}

// Item is something that a request can be about.
type Item struct {
	ID         string
	Name       string // what people call it, as "under-door lever"
	Consumable bool
	Price      Price     // on the department's list; NoSource when there is none
	Life       int       // years of service after which it is replaced; 0: none is given
	Since      time.Time // on the kit list; zero: as long as there are records
}

// Kit is one kit of the department. One without a unit is on a shelf: it is
// converted like the others, and nothing is reckoned to be lost from it.
type Kit struct {
	ID    string
	Unit  string
	List  int       // version that it is packed to
	Since time.Time // in service; zero: as long as there are records
}

// Kits are a fleet's kits as a request sees them: those that ride on units, and
// those that do not.
func Kits(fleet []kit.Kit) []Kit {
	kits := make([]Kit, len(fleet))
	for i, k := range fleet {
		kits[i] = Kit{ID: k.ID, List: k.List}
		if k.Place.Kind == kit.OnUnit {
			kits[i].Unit = k.Place.At
		}
	}
	return kits
}

// Unit is a rig that may carry a kit.
type Unit struct {
	ID, Name string
	Reserve  bool
	Sold     bool
}

// Ask is what somebody wants in the request beside what follows from records: a
// wish, or a line of the lead's own, such as training boards or printing. It can
// be the body of a journal entry.
type Ask struct {
	Key    string   `json:"key"`               // names it among all, as a wish's key
	Own    bool     `json:"own,omitempty"`     // the lead's own line; else a wish
	Item   string   `json:"item,omitempty"`    // what it is about, where that is an item
	Title  string   `json:"title,omitempty"`   // what it is about, where it is not
	Why    string   `json:"why,omitempty"`     // the asker's reason
	PerKit int      `json:"per_kit,omitempty"` // pieces for each kit
	Units  []string `json:"units,omitempty"`   // for the kits of these units; empty: every kit in service
	Pieces int      `json:"pieces,omitempty"`  // pieces beside those for kits
	Year   int      `json:"year,omitempty"`    // fiscal year; 0: the request's first
	Price  Price    `json:"price,omitzero"`    // as the asker has it
	Crews  int      `json:"crews,omitempty"`   // how many crews asked
}

// Basis is all that a request is made of.
type Basis struct {
	Calendar Calendar
	Terms    Terms
	Year     int // first fiscal year of the request
	Years    int // how many of them; 0 for 3, at most 10
	Now      time.Time
	Items    []Item
	Lists    []kit.List
	InForce  int // version of the list that kits are to be packed to
	Kits     []Kit
	Units    []Unit
	Pieces   []kit.Piece    // since when what serves; a later one about the same counts
	Stock    map[string]int // pieces on shelves, by item
	Records  []Record
	Since    time.Time // since when records are kept; zero: since the first of them
	Asks     []Ask
	Priors   map[string]Prior // by item; DurablePrior or ConsumablePrior where there is none
}
