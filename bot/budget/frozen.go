package budget

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"kitbell/bot"
)

// Frozen is a request as it was handed in. Nothing in it ever changes; its digest
// shows that nothing has.
type Frozen struct {
	Number  string    `json:"number"` // of the department's requests, as 2028-1
	At      time.Time `json:"at"`
	Signer  string    `json:"signer"` // member
	Request Request   `json:"request"`
	Digest  string    `json:"digest"` // SHA-256 of all the rest, in hexadecimal
}

// Submit freezes a request under the next number of its year. A request without a
// line, or without a signer, is a *bot.UserError.
func Submit(past []Submitted, r Request, signer string, at time.Time) (Frozen, error) {
	switch {
	case signer == "":
		return Frozen{}, bot.SayBudgetNoSigner.With()
	case r.Total().Lines == 0:
		return Frozen{}, bot.SayBudgetEmpty.With()
	}
	f := Frozen{Number: nextNumber(past, r.Year), At: at.UTC(), Signer: signer, Request: r}
	digest, err := f.digest()
	if err != nil {
		return Frozen{}, fmt.Errorf("freeze request %s: %w", f.Number, err)
	}
	f.Digest = digest
	return f, nil
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

// digest is of the canonical form: the JSON of everything but the digest, fields
// in the order of their declaration.
func (f Frozen) digest() (string, error) {
	f.Digest = ""
	canonical, err := json.Marshal(f)
	if err != nil {
		return "", fmt.Errorf("encode request: %w", err)
	}
	sum := sha256.Sum256(canonical)
	return hex.EncodeToString(sum[:]), nil
}

// Intact says whether the request is what was signed.
func (f Frozen) Intact() bool {
	digest, err := f.digest()
	return err == nil && digest == f.Digest
}
