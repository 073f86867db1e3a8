package budget

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"kitbell/bot"
)

// Frozen is a request as it was handed in. What was signed is a text, and the
// digest is of that text: a later version of the program reads it anew and cannot
// change it. The fields say what the text says.
type Frozen struct {
	Number  string // of the department's requests, as 2028-1
	At      time.Time
	Signer  string // member
	Request Request
	Digest  string // SHA-256 of the text, in hexadecimal
	text    json.RawMessage
}

// signed is the text's form: JSON, its fields in this order, without blanks.
type signed struct {
	Number  string    `json:"number"`
	At      time.Time `json:"at"`
	Signer  string    `json:"signer"`
	Request Request   `json:"request"`
}

// kept is a frozen request in the journal.
type kept struct {
	Digest string          `json:"digest"`
	Text   json.RawMessage `json:"text"`
}

// Submit freezes a request under the next number of its year. A request without a
// line that counts, or without a signer, is a *bot.UserError.
func Submit(past []Submitted, r Request, signer string, at time.Time) (Frozen, error) {
	switch {
	case signer == "":
		return Frozen{}, bot.SayBudgetNoSigner.With()
	case r.Total().Lines == 0:
		return Frozen{}, bot.SayBudgetEmpty.With()
	}
	number := nextNumber(past, r.Year)
	text, err := json.Marshal(signed{number, at.UTC(), signer, r})
	if err != nil {
		return Frozen{}, fmt.Errorf("freeze request %s: %w", number, err)
	}
	return readFrozen(kept{digest(text), text})
}

func nextNumber(past []Submitted, year int) string {
	n := 1
	for _, s := range past {
		if s.Request.Year == year {
			n++
		}
	}
	return fmt.Sprintf("%d-%d", year, n)
}

func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// Text is what was signed, byte for byte.
func (f Frozen) Text() []byte { return append([]byte(nil), f.text...) }

// Intact says whether the text is the one that was signed.
func (f Frozen) Intact() bool { return digest(f.text) == f.Digest }

// MarshalJSON keeps the text and its digest.
func (f Frozen) MarshalJSON() ([]byte, error) { return json.Marshal(kept{f.Digest, f.text}) }

// UnmarshalJSON reads what MarshalJSON kept. A text that is not the one that was
// signed is read too: Intact says so.
func (f *Frozen) UnmarshalJSON(data []byte) error {
	var k kept
	if err := json.Unmarshal(data, &k); err != nil {
		return fmt.Errorf("read frozen request: %w", err)
	}
	read, err := readFrozen(k)
	if err != nil {
		return err
	}
	*f = read
	return nil
}

func readFrozen(k kept) (Frozen, error) {
	var s signed
	if err := json.Unmarshal(k.Text, &s); err != nil {
		return Frozen{}, fmt.Errorf("read frozen request: %w", err)
	}
	return Frozen{Number: s.Number, At: s.At, Signer: s.Signer, Request: s.Request, Digest: k.Digest, text: k.Text}, nil
}
