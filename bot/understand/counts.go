package understand

import "kitbell/bot/kit"

// amount is how many pieces a phrase speaks of, as far as it says.
type amount struct {
	n     int // pieces named, when given
	of    int // "2 of 4": out of so many
	given bool
	both  bool
	all   bool
	half  bool
	only  bool // and no more
	have  bool // so many are there
}

// said reports whether the phrase spoke of a number at all.
func (a amount) said() bool { return a.given || a.both || a.all || a.half }

// pieces is how many pieces a phrase is about, given how many a complete kit
// holds. A plural without a number means all of them.
func (a amount) pieces(qty int, plural bool) int {
	switch {
	case a.given:
		return a.n // of what is left this may be none
	case a.both:
		return 2
	case a.half:
		return max(1, qty/2)
	case a.all, plural:
		return qty
	}
	return 1
}

// gone is pieces of what is missing: "zero" means that all are.
func (a amount) gone(qty int, plural bool) int {
	if a.given && a.n == 0 {
		return qty
	}
	return a.pieces(qty, plural)
}

// line turns what is said of an item into its condition and count. ok is false
// when it amounts to nothing worth a line.
func (say saying) line(m *mention, qty int) (c kit.Condition, count int, ok bool) {
	a := say.amount
	if !a.said() {
		a = merged(a, m.amount)
	}
	switch say.status {
	case left:
		return remaining(a.pieces(qty, false), qty)
	case fine:
		if a.given && a.of > a.n {
			return remaining(a.n, a.of)
		}
		if a.given && a.only {
			return remaining(a.n, qty)
		}
		return "", 0, false
	case have:
		return remaining(a.pieces(qty, m.plural), qty)
	case short, alsoAsked, elsewhere, status(kit.Missing):
		if a.only && a.given {
			return remaining(a.n, qty)
		}
		return kit.Missing, a.gone(qty, m.plural || m.none), true
	case needs, except:
		return kit.Missing, a.gone(qty, false), true
	case status(kit.Low):
		if a.given && (a.only || m.amount.given) {
			return remaining(a.n, qty)
		}
		return kit.Low, 1, true
	case status(kit.Extra):
		if !say.amount.given && m.amount.given && m.amount.n > qty {
			return kit.Extra, m.amount.n - qty, true // "five wedges, too many"
		}
		if !say.amount.given {
			return kit.Extra, 1, true
		}
	case found, status(kit.Wrong):
		if !a.given && !a.both || a.n > qty {
			return kit.Condition(say.status), 1, true // "ours has a 5 painted on it"
		}
	}
	return kit.Condition(say.status), a.pieces(qty, m.plural), true
}

// remaining reads "n are left": short of the rest, gone, or too many.
func remaining(n, qty int) (kit.Condition, int, bool) {
	switch {
	case n <= 0:
		return kit.Missing, qty, true
	case n < qty:
		return kit.Low, qty - n, true
	case n > qty:
		return kit.Extra, n - qty, true
	}
	return "", 0, false
}

// merged keeps what the saying's own words add to the item's number.
func merged(own, item amount) amount {
	item.only = item.only || own.only
	item.have = item.have || own.have
	return item
}

// nearNumber is how many tokens may stand between a number and what it counts.
const nearNumber = 4

// counter collects the number words of a clause until something takes them.
type counter struct {
	amount
	at    int // token of the last number word
	ofRow bool
}

// take hands the amount to what stands at token i, when it is near enough.
func (c *counter) take(i int) amount {
	a := c.amount
	if a.said() && i-c.at > nearNumber {
		a = amount{only: a.only, have: a.have}
	}
	*c = counter{amount: amount{only: a.only, have: a.have}}
	return a
}

func (c *counter) number(n, at int) {
	if c.given && c.ofRow {
		c.of = n
	} else {
		c.n, c.given = n, true
	}
	c.at, c.ofRow = at, false
}
