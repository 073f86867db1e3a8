package deliver

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"kitbell/bot"
)

// LeastText is the narrowest message that Split cuts for; a platform that claims
// to take less is treated as taking this much.
const LeastText = 64

// MoreChoices stands over buttons that found no room under the text itself.
const MoreChoices = "More choices:"

// Split cuts a message into as many as its platform needs, in the order in which
// they are to be sent. No message's Plain text has more than caps.MaxText
// characters (Unicode code points; 0 is no limit), nor more than caps.MaxButtons
// buttons. Cuts are made between the parts of a reply where that is possible,
// else after a line, a sentence or a word. The first message keeps the key, the
// title and the edit; the following have keys with /2, /3 and so on; the buttons
// stand under the last text, and those that find no room there in messages of
// their own behind it. A message that fits comes back as it is.
func Split(o bot.Outgoing, caps bot.Capabilities) []bot.Outgoing {
	limit := caps.MaxText
	if limit > 0 {
		limit = max(limit, LeastText)
	}
	replies := spread(o.Reply.Buttons, cut(o.Reply, limit), caps.MaxButtons)
	parts := make([]bot.Outgoing, len(replies))
	for i, r := range replies {
		parts[i] = bot.Outgoing{Key: o.Key, To: o.To, Reply: r}
		if i > 0 {
			parts[i].Key = fmt.Sprintf("%s/%d", o.Key, i+1)
		}
	}
	parts[0].Edit = o.Edit
	return parts
}

// spread puts the buttons under the last reply and, most at a time, under
// further ones.
func spread(buttons []bot.Button, replies []bot.Reply, most int) []bot.Reply {
	last := &replies[len(replies)-1]
	if most <= 0 || len(buttons) <= most {
		last.Buttons = buttons
		return replies
	}
	last.Buttons, buttons = buttons[:most:most], buttons[most:]
	private := last.Private
	for len(buttons) > 0 {
		n := min(most, len(buttons))
		replies = append(replies, bot.Reply{Text: MoreChoices, Buttons: buttons[:n:n], Private: private})
		buttons = buttons[n:]
	}
	return replies
}

// cut divides all of a reply but its buttons.
func cut(r bot.Reply, limit int) []bot.Reply {
	r.Buttons = nil
	if limit <= 0 || utf8.RuneCountInString(r.Plain()) <= limit {
		return []bot.Reply{r}
	}
	c := cutter{limit: limit, private: r.Private}
	c.title(r.Title)
	c.text(r.Text)
	for i, s := range r.Steps {
		c.step(i, s)
	}
	for _, f := range r.Fields {
		c.field(f)
	}
	for _, p := range r.Pictures {
		c.picture(p)
	}
	return append(c.done, c.open)
}

// cutter fills one reply after the other. Parts come in the order in which
// Plain prints them, so what is left over of one part can always stand as the
// text of the next reply.
type cutter struct {
	limit   int
	private bool
	done    []bot.Reply
	open    bot.Reply
	begun   bool // the open reply holds something
}

// room is how many characters the open reply still takes after a line break.
func (c *cutter) room() int {
	if !c.begun {
		return c.limit
	}
	return c.limit - utf8.RuneCountInString(c.open.Plain()) - 1
}

// next closes the open reply and begins another.
func (c *cutter) next() {
	c.done = append(c.done, c.open)
	c.open, c.begun = bot.Reply{Private: c.private}, false
}

// fits makes room for something of the given length, in the open reply or in a
// new one, and says whether there is.
func (c *cutter) fits(length int) bool {
	if length > c.room() && c.begun {
		c.next()
	}
	return length <= c.room()
}

func (c *cutter) title(s string) {
	head, rest := cutAt(s, c.limit)
	c.open.Title, c.open.Private, c.begun = head, c.private, s != ""
	c.text(rest)
}

// text adds running text, over as many replies as it takes.
func (c *cutter) text(s string) {
	if s == "" {
		return
	}
	for utf8.RuneCountInString(s) > c.room() {
		if c.room() >= LeastText/2 {
			var head string
			head, s = cutAt(s, c.room())
			c.append(head)
		}
		c.next()
	}
	c.append(s)
}

func (c *cutter) append(s string) {
	if s == "" {
		return
	}
	if c.open.Text != "" {
		s = c.open.Text + "\n" + s
	}
	c.open.Text, c.begun = s, true
}

// step adds a step. Plain numbers the steps of each reply from 1, so only those
// of the reply that holds the first stay steps; the others become lines that
// carry their number.
func (c *cutter) step(i int, s string) {
	line := fmt.Sprintf("%d. %s", i+1, s)
	fits := c.fits(utf8.RuneCountInString(line))
	if fits && len(c.open.Steps) == i {
		c.open.Steps, c.begun = append(c.open.Steps, s), true
		return
	}
	c.text(line)
}

func (c *cutter) field(f bot.Field) {
	line := f.Name + ": " + f.Value
	if c.fits(utf8.RuneCountInString(line)) {
		c.open.Fields, c.begun = append(c.open.Fields, f), true
		return
	}
	c.text(line)
}

// picture adds a picture. It stays one picture however long its description is:
// the end of that follows as text.
func (c *cutter) picture(p bot.Picture) {
	const label = len("Picture: ")
	c.fits(min(label+utf8.RuneCountInString(p.Alt), c.limit))
	var rest string
	p.Alt, rest = cutAt(p.Alt, c.room()-label)
	c.open.Pictures, c.begun = append(c.open.Pictures, p), true
	if rest != "" {
		c.next()
		c.text(rest)
	}
}

// cutAt divides s so that head has at most limit characters: after the last line
// that fits, else the last sentence, else the last word, else anywhere. The
// white space at the cut goes.
func cutAt(s string, limit int) (head, rest string) {
	end := byteOf(s, limit)
	if end == len(s) {
		return s, ""
	}
	at := breakBefore(s, end)
	return strings.TrimRightFunc(s[:at], unicode.IsSpace), strings.TrimLeftFunc(s[at:], unicode.IsSpace)
}

// byteOf is where the character number n of s begins, or the end of s.
func byteOf(s string, n int) int {
	for i := range s {
		if n == 0 {
			return i
		}
		n--
	}
	return len(s)
}

// breakBefore finds the best place to cut s at or before end. A break in the
// first half of the room is too early to be worth it, but for a word's.
func breakBefore(s string, end int) int {
	var line, sentence, word int
	var last rune
	for i, r := range s[:end] {
		switch {
		case r == '\n':
			line = i
		case unicode.IsSpace(r) && strings.ContainsRune(".!?", last):
			sentence = i
		case unicode.IsSpace(r):
			word = i
		}
		last = r
	}
	if next, _ := utf8.DecodeRuneInString(s[end:]); unicode.IsSpace(next) {
		return end // what fits ends with a whole word
	}
	switch {
	case line > end/2:
		return line
	case sentence > end/2:
		return sentence
	}
	if at := max(line, sentence, word); at > 0 {
		return at
	}
	return end
}
