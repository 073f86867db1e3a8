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
		parts[i] = bot.Outgoing{Key: o.Key, To: o.To, Reply: r, Answers: o.Answers}
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
	c.close()
	return c.done
}

// cutter fills one reply after the other. Parts come in the order in which
// Plain prints them, so what is left over of one part can always stand as the
// text of the next reply.
type cutter struct {
	limit   int
	private bool
	done    []bot.Reply
	open    bot.Reply
	lines   []string // the open reply's text so far
	used    int      // characters of the open reply's Plain text
	begun   bool     // the open reply holds something
}

// room is how many characters the open reply still takes.
func (c *cutter) room() int {
	if c.begun {
		return c.limit - c.used - 1 // Plain puts a line break between two parts
	}
	return c.limit
}

// spend counts something of the given length that the open reply now holds.
func (c *cutter) spend(length int) {
	c.used, c.begun = c.limit-c.room()+length, true
}

// close ends the open reply and begins another.
func (c *cutter) close() {
	c.open.Text, c.open.Private = strings.Join(c.lines, "\n"), c.private
	c.done = append(c.done, c.open)
	c.open, c.lines, c.used, c.begun = bot.Reply{}, nil, 0, false
}

// fits makes room for something of the given length, in the open reply or in a
// new one, and says whether there is.
func (c *cutter) fits(length int) bool {
	if length > c.room() && c.begun {
		c.close()
	}
	return length <= c.room()
}

func (c *cutter) title(s string) {
	head, rest := cutAt(s, c.limit)
	if head != "" {
		c.open.Title = head
		c.spend(utf8.RuneCountInString(head))
	}
	c.text(rest)
}

// text adds running text, over as many replies as it takes.
func (c *cutter) text(s string) {
	for s != "" {
		if c.begun && c.room() < min(LeastText/2, utf8.RuneCountInString(s)) {
			c.close()
		}
		var head string
		if head, s = cutAt(s, c.room()); head != "" {
			c.lines = append(c.lines, head)
			c.spend(utf8.RuneCountInString(head))
		}
		if s != "" && c.begun {
			c.close()
		}
	}
}

// step adds a step. Plain numbers the steps of each reply from 1, so only those
// of the reply that holds the first stay steps; the others become lines that
// carry their number.
func (c *cutter) step(i int, s string) {
	line := fmt.Sprintf("%d. %s", i+1, s)
	length := utf8.RuneCountInString(line)
	if c.fits(length) && len(c.open.Steps) == i {
		c.open.Steps = append(c.open.Steps, s)
		c.spend(length)
		return
	}
	c.text(line)
}

func (c *cutter) field(f bot.Field) {
	line := f.Name + ": " + f.Value
	length := utf8.RuneCountInString(line)
	if c.fits(length) {
		c.open.Fields = append(c.open.Fields, f)
		c.spend(length)
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
	c.open.Pictures = append(c.open.Pictures, p)
	c.spend(label + utf8.RuneCountInString(p.Alt))
	if rest != "" {
		c.close()
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
