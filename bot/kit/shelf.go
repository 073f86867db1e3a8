package kit

// ShelfStep is what somebody counted on a station's shelf, took from it or put
// on it. It is the body of a journal entry.
type ShelfStep struct {
	Station string `json:"station"`
	Item    string `json:"item"`
	Counted *int   `json:"counted,omitempty"` // pieces there now
	Change  int    `json:"change,omitempty"`  // pieces put there; negative for taken
	Minimum *int   `json:"minimum,omitempty"` // fewer than this are to be refilled
	Kit     string `json:"kit,omitempty"`     // the kit that they went into
}

// Stock is what a shelf holds of an item. Known is false until somebody counted.
type Stock struct {
	Item           string
	Count, Minimum int
	Known          bool
}

// Low says whether the shelf is to be refilled.
func (s Stock) Low() bool { return s.Known && s.Count < s.Minimum }

// Shelves folds steps, oldest first, into what each station's shelf holds, in
// the order in which items were first named. A shelf never holds fewer than
// none: what was taken beyond its count shows that the count was wrong.
func Shelves(steps []ShelfStep) map[string][]Stock {
	shelves := map[string][]Stock{}
	for _, s := range steps {
		stock := find(shelves[s.Station], s.Item)
		if s.Counted != nil {
			stock.Count, stock.Known = *s.Counted, true
		}
		if s.Minimum != nil {
			stock.Minimum = *s.Minimum
		}
		stock.Count = max(0, stock.Count+s.Change)
		shelves[s.Station] = replace(shelves[s.Station], stock)
	}
	return shelves
}

// On gives what a list of stocks has of an item.
func On(stocks []Stock, item string) Stock { return find(stocks, item) }

func find(stocks []Stock, item string) Stock {
	for _, s := range stocks {
		if s.Item == item {
			return s
		}
	}
	return Stock{Item: item}
}

func replace(stocks []Stock, with Stock) []Stock {
	for i, s := range stocks {
		if s.Item == with.Item {
			stocks[i] = with
			return stocks
		}
	}
	return append(stocks, with)
}
