package command

import (
	"context"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// Photos fetches pictures that may be kept.
type Photos interface {
	// Keep gives a file of a platform as a small JPEG of pixels alone. It is
	// called from the conversation's goroutine, once the person has promised
	// what the picture shows, and may block for the network for some seconds.
	// A *bot.UserError says to the person why there is none.
	Keep(ctx context.Context, platform string, f bot.File) (jpeg []byte, err error)
}

// photoVerb is the verb of the buttons about pictures, and photoKind the
// journal's word for one that was kept.
const (
	photoVerb = "photo"
	photoKind = "photo"
)

// PhotoScene begins the key of a picture that was kept; its name follows.
const PhotoScene = "photo:"

// mostPhotos is how many pictures of one message are kept.
const mostPhotos = 3

// sentPhoto is a message's pictures on their platform, not their content: what
// the person may choose to keep while the conversation lasts.
type sentPhoto struct {
	Event string     `json:"event"`
	By    string     `json:"by"` // who sent it and alone may keep it: a thread is everybody's
	Files []bot.File `json:"files"`
	Offer bool       `json:"offer,omitempty"` // the next report asks whether to keep them
}

// tag is a short name of the message, for buttons.
func (p sentPhoto) tag() string {
	h := fnv.New32a()
	h.Write([]byte(p.Event))
	return strconv.FormatUint(uint64(h.Sum32()), 36)
}

// photoEntry is the body of an entry about a kept picture; its subject is
// line:number.
type photoEntry struct {
	Name string `json:"name"`
	Line int    `json:"line"`
}

func photoValue(what, tag string, more ...string) string {
	return strings.TrimSuffix(strings.Join(append([]string{photoVerb, what, tag}, more...), ":"), ":")
}

// shared asks one question about a picture, and for a line in place of a voice
// note.
func (r *Request) shared() (Result, error) {
	kinds := make(map[bot.FileKind]bool)
	for _, f := range r.Event.Files {
		kinds[f.Kind] = true
	}
	switch {
	case kinds[bot.PictureFile]:
		return r.askPicture()
	case kinds[bot.VoiceFile]:
		return Say("One line of text, please: I cannot listen."), nil
	case r.Event.Direct && len(kinds) > 0:
		return Say("I cannot read files. Type what matters in one line."), nil
	}
	return Result{}, nil
}

func (r *Request) askPicture() (Result, error) {
	if err := r.rememberPicture(false); err != nil {
		return Result{}, err
	}
	tag := ""
	if r.Memory.Photo != nil {
		tag = r.Memory.Photo.tag()
	}
	return Say("What is the picture for? I have not kept it.",
		bot.Button{Label: "Something is missing", Value: photoValue("missing", tag)},
		bot.Button{Label: "Something is broken", Value: photoValue("broken", tag)},
		bot.Button{Label: "It goes with my last report", Value: photoValue("last", tag)},
		bot.Button{Label: "Nothing", Value: photoValue("nothing", tag)}), nil
}

// rememberPicture has the conversation remember where the message's pictures
// are, unless a door is being worked on: pictures of that are not kept.
func (r *Request) rememberPicture(offer bool) error {
	var pictures []bot.File
	for _, f := range r.Event.Files {
		if f.Kind == bot.PictureFile && len(pictures) < mostPhotos {
			pictures = append(pictures, f)
		}
	}
	if len(pictures) == 0 {
		return nil
	}
	r.Memory.Photo = nil
	busy, err := r.atADoor()
	if err == nil && !busy && r.photos != nil {
		r.Memory.Photo = &sentPhoto{Event: r.Event.ID, By: r.Who.Person, Files: pictures, Offer: offer}
	}
	return err
}

// atADoor says whether the speaker or their crew works on a door now.
func (r *Request) atADoor() (bool, error) {
	if r.Memory.Running != nil {
		return true, nil
	}
	theirs, err := r.crew()
	if err != nil {
		return false, fmt.Errorf("read crew's door: %w", err)
	}
	return theirs != nil && !theirs.Closed, nil
}

// PhotoCommand takes the answer to what a bare picture is for, and keeps a
// picture once the person has promised what it shows.
func PhotoCommand() Command {
	return Command{Name: photoVerb, Run: pressPhoto}
}

func pressPhoto(ctx context.Context, r *Request) (Result, error) {
	what, rest := press(r.Ref)
	tag, more := press(rest)
	at := r.Memory.Photo
	if at != nil && (at.tag() != tag || at.By != r.Who.Person) {
		at = nil
	}
	number, _ := strconv.Atoi(more)
	switch what {
	case "missing":
		return r.askForLine(at, "Which tool is missing, from whose kit? One line, such as: {rig} wood wedge missing."), nil
	case "broken":
		return r.askForLine(at, "What is broken, on whose kit? One line, such as: {rig} air wedge leaks."), nil
	case "last":
		return r.photoOfLast(ctx, at)
	case "nothing":
		if at != nil {
			r.Memory.Photo = nil
		}
		return Say("Good. Nothing is kept."), nil
	case "keep":
		return r.keepPhoto(ctx, at, number)
	case "drop":
		if number, err := strconv.Atoi(rest); err == nil {
			return r.dropPhotos(ctx, number)
		}
	}
	return Result{}, bot.SayOldButton.With()
}

// askForLine asks for the words that a picture goes with.
func (r *Request) askForLine(at *sentPhoto, text string) Result {
	if at != nil {
		at.Offer = true
		text += " Then I ask whether to keep the picture with it."
	}
	return Say(text)
}

// photoOfLast asks whether to keep a picture with the person's last report.
func (r *Request) photoOfLast(ctx context.Context, at *sentPhoto) (Result, error) {
	if at == nil {
		busy, err := r.atADoor()
		if err != nil {
			return Result{}, err
		}
		switch {
		case busy:
			return Result{}, bot.SayPhotoDoor.With()
		case r.photos == nil:
			return Say("I cannot keep pictures here. Add one line that says what it shows."), nil
		}
		return Result{}, bot.SayPhotoGone.With()
	}
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return Result{}, fmt.Errorf("read open lines: %w", err)
	}
	mine := slices.DeleteFunc(slices.Clone(open), func(l kit.Line) bool { return l.By != r.Who.Person })
	if len(mine) == 0 {
		return r.askForLine(at, "You have no open report. Say in one line what it shows."), nil
	}
	last := slices.MaxFunc(mine, func(a, b kit.Line) int { return a.OpenedAt.Compare(b.OpenedAt) })
	return Answer(r.keepReply(*at, last)), nil
}

// keepReply asks for the promise.
func (r *Request) keepReply(at sentPhoto, l kit.Line) bot.Reply {
	return bot.Reply{
		Text: fmt.Sprintf("Keep the picture with #%d %s: %s? Only if it shows the tool: no person, no mail, no house number.", l.Number, r.unitName(l.Unit), r.lineWords(l)),
		Buttons: []bot.Button{
			{Label: "Keep: tool only, no person, mail or house number", Value: photoValue("keep", at.tag(), strconv.Itoa(l.Number))},
			{Label: "Do not keep", Value: photoValue("nothing", at.tag())},
		},
	}
}

// offerPhoto asks, beside the confirmation of a report, whether the picture that
// came before it or with it is to be kept.
func (r *Request) offerPhoto(result *Result) {
	at := r.Memory.Photo
	if at == nil || !at.Offer || at.By != r.Who.Person {
		return
	}
	for _, c := range slices.Backward(result.Changes) {
		if step, ok := c.(kit.Change); ok && step.New.State.Open() {
			at.Offer = false
			result.Posts = append(result.Posts, Post{Reply: r.keepReply(*at, step.New)})
			return
		}
	}
}

// keepPhoto fetches the pictures and keeps them with an open line.
func (r *Request) keepPhoto(ctx context.Context, at *sentPhoto, number int) (Result, error) {
	if at == nil || r.photos == nil {
		return Result{}, bot.SayPhotoGone.With()
	}
	busy, err := r.atADoor()
	if err != nil {
		return Result{}, err
	}
	line, err := r.line(ctx, number)
	switch {
	case err != nil:
		return Result{}, err
	case busy:
		return Result{}, bot.SayPhotoDoor.With()
	case !line.State.Open():
		return Result{}, bot.SayLineClosed.With(number, string(line.State), number)
	}
	var out Result
	for _, f := range at.Files {
		jpeg, err := r.photos.Keep(ctx, r.Event.Where.Platform, f)
		if err != nil {
			return Result{}, err
		}
		kept := kit.Photo{Name: kit.NamePhoto(at.Event, f.ID), Line: number, By: r.Who.Person, At: r.Now, JPEG: jpeg}
		entry := bot.NewEntry(photoKind, lineSubject(number), r.Who.Person, r.Now, photoEntry{Name: kept.Name, Line: number})
		out.Changes = append(out.Changes, kit.PhotoKept{Photo: kept}, bot.Written{Entry: entry})
	}
	text := fmt.Sprintf("Kept with #%d: %s, made small, with no place or time in it.", number, plural(len(at.Files), "picture"))
	r.Memory.Photo = nil
	out.Posts = []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton(), removePhotos(number)}}}}
	return out, nil
}

func lineSubject(number int) string { return fmt.Sprintf("line:%d", number) }

func removePhotos(number int) bot.Button {
	return bot.Button{Label: "Remove picture", Value: photoValue("drop", strconv.Itoa(number))}
}

// dropPhotos takes the pictures of a line off the disk: one's own, or all of
// them on an officer's word. It does not ask how old they are: what should not
// have been kept goes at any time.
func (r *Request) dropPhotos(ctx context.Context, number int) (Result, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, photoKind, lineSubject(number), r.Now.AddDate(-10, 0, 0))
	if err != nil {
		return Result{}, fmt.Errorf("read photos of line %d: %w", number, err)
	}
	var out Result
	for _, e := range entries {
		if e.Person != r.Who.Person && !r.Who.May(department.Officer) {
			continue
		}
		dropped, err := r.unkeep(e)
		if err != nil {
			return Result{}, err
		}
		out.Changes = append(out.Changes, dropped, bot.Withdrawn{Entry: e, At: r.Now})
	}
	switch {
	case len(entries) == 0:
		return Result{}, bot.SayNoPhoto.With(number)
	case len(out.Changes) == 0:
		return Result{}, bot.SayPhotoWhose.With()
	}
	out.Posts = Say(fmt.Sprintf("Removed from #%d: %s. It is off the disk.", number, plural(len(out.Changes)/2, "picture"))).Posts
	return out, nil
}

// unkeep is the change that takes an entry's picture off the disk.
func (r *Request) unkeep(e bot.Entry) (bot.Change, error) {
	kept, err := decode[photoEntry](e)
	if err != nil {
		return nil, err
	}
	return kit.PhotoDropped{Name: kept.Name, Line: kept.Line}, nil
}

// showPhotos adds a line's pictures to its history, for members.
func (r *Request) showPhotos(ctx context.Context, number int, reply *bot.Reply) error {
	if !r.Who.member() {
		return nil
	}
	entries, err := r.Books.Entries(ctx, r.Department.Slug, photoKind, lineSubject(number), r.Now.AddDate(-10, 0, 0))
	if err != nil {
		return fmt.Errorf("read photos of line %d: %w", number, err)
	}
	for _, e := range entries {
		kept, err := decode[photoEntry](e)
		if err != nil {
			return err
		}
		by, err := r.signed(ctx, e.Person, e.At)
		if err != nil {
			return err
		}
		alt := fmt.Sprintf("photo of the tool, kept by %s, %s", by, r.day(e.At))
		reply.Pictures = append(reply.Pictures, bot.Picture{Scene: PhotoScene + kept.Name, Alt: alt})
	}
	if len(entries) > 0 {
		reply.Buttons = append(reply.Buttons, removePhotos(number))
	}
	return nil
}
