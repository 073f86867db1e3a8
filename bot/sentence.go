package bot

import "fmt"

// Sentence is a fmt pattern of what kitbell says to a person when something
// stands in the way. All of them stand in this file, so that one test can hold
// them to the reading grade and one reader can hear the tone.
type Sentence string

// What kitbell says when it cannot do as asked.
const (
	SayEmpty         Sentence = "That message was empty. Type what you need, or type help."
	SayTooLong       Sentence = "That message is too long for me: %d kB, and I take %d. Send the part that matters."
	SayNotText       Sentence = "I could not read that message as text. Type it again, please."
	SayPhone         Sentence = "That looks like a phone number. I did not keep it. Please delete your message and send it again without the number."
	SayCode          Sentence = "That looks like an access code. I did not keep it. Please delete your message and send it again without the code."
	SayStreet        Sentence = "That looks like a street address. I did not keep it. Please delete your message and send it again without the address."
	SayPersonal      Sentence = "That looks like private data of a person. I did not keep it. Please delete your message and send it again without it."
	SayNoLine        Sentence = "There is no line %d in the queue. Type queue to see what is open."
	SayNothingOpen   Sentence = "I have no open line about the %s on %s. Type queue to see what is open."
	SayCount         Sentence = "%d × %s is not a count I can book: a full kit holds %d. How many is it?"
	SayNoKit         Sentence = "%s carries no entry kit. Whose kit do you mean?"
	SayTwoKits       Sentence = "%s carries the kits %s now. Say it again with the kit's number, such as kit %s."
	SayWhichMove     Sentence = "Which kit goes where? Say it like this: kit 7 to E11, or: kit 7 on the shelf at Station 2."
	SayKitThere      Sentence = "Kit %s is %s already."
	SayNoSuchKit     Sentence = "There is no kit %s here."
	SayNothingUndo   Sentence = "There is nothing of yours to undo from the last 5 minutes."
	SayUndoLate      Sentence = "Too late to undo: 5 minutes are over. Report what is right, and the line follows."
	SayUndoMoved     Sentence = "Line %d has moved on since. Tell the quartermaster what is right."
	SayUndoAgain     Sentence = "It was reported again since: line %d is open. There is nothing to undo."
	SayUndoTwice     Sentence = "That is undone already."
	SayNoRig         Sentence = "I know no rig by that name. Name it as the department does, such as %s."
	SayNotYours      Sentence = "Only the person who wrote it can undo it."
	SayNothingToTell Sentence = "I have no use of yours to go on with. Type it in one line: used the film, second try, no mark."
	SayOtherCrew     Sentence = "That record is another crew's. Ask that crew, or the chief of training."
	SayOldButton     Sentence = "That button has had its day. Type what you need."
	SayNoTechnique   Sentence = "I give technique only to members. Ask an officer to let you in. You can still report what is missing."
	SayTrouble       Sentence = "Something went wrong on my side, and nothing was changed. Try again. If it stays, tell the lead: reference %s."
	SayAdoptWhose    Sentence = "Cards are adopted by the chief of training. Ask them: they type adopt all cards, or adopt card and its name."
	SayNoCard        Sentence = "There is no card called %s. Type what is not adopted to see their names."
	SayForbidden     Sentence = "The department's file forbids %s. Take it out of forbids there first."
	SayWhichOne      Sentence = "Which one do you mean? Name the tool, the lock or the way."
	SayQuestionGone  Sentence = "That question is settled. Type unanswered to see what is open."
	SayStopUseOver   Sentence = "That stop-use is over. Type stop-use to see what is open."
	SayLeadOnly      Sentence = "That is the lead's word to give."
	SayRollOutOver   Sentence = "That roll-out is finished. Every crew may use the tool."
	SayWhichCrew     Sentence = "I do not know your crew. Say which rig you ride first: riding E4 today."
	SayQueueWhose    Sentence = "That is the quartermaster's step to take."
	SayOfficerOnly   Sentence = "That is an officer's word to give."
	SayLineClosed    Sentence = "Line %d is closed: %s. Is it not right after all? Type: reopen %d."
	SayLineOpen      Sentence = "Line %d is open."
	SayLineSo        Sentence = "Line %d is so already: %s."
	SayLineMoved     Sentence = "Line %d has moved on since: %s now. Type queue %d to see it."
	SayPieces        Sentence = "Line %d still lacks %d. How many came?"
	SayReopenAgain   Sentence = "Line %d is open about the same thing. Go on with that one."
	SayCrewCloses    Sentence = "The crew closes line %d when it is in the kit. Type: %d dropped off."
	SayNotMissing    Sentence = "Line %d is not about a missing thing."
	SayTagTaken      Sentence = "Tag %s is on kit %s. Read the number again."
	SayFullFirst     Sentence = "The old tag of %s vouches for nothing any more. Type check %s, look at every line, put a new tag on and say its number."
	SayOnePrice      Sentence = "That price is for several lines. Say it line by line, so that each has its own."
	SayLineCount     Sentence = "Line %d is about %d × %s. How many of them came?"
	SayLoanOver      Sentence = "That loan is settled already."
	SayWhoLent       Sentence = "Who lent it to whom? Say it like this: L4 lent a film to E4."
	SayShelfWhich    Sentence = "Which station's shelf? Say it like this: shelf at 4 has 6 wood wedges, minimum 4."
	SayShortAlready  Sentence = "The kit is noted without any %s already."
	SayLendWhat      Sentence = "Which tool was it? Say the whole line again with its name, such as air wedge."
	SayLentAlready   Sentence = "That is noted already: %s, since %s."
	SayActingLong    Sentence = "An acting role ends by itself within %d days. Name an earlier day."
	SayActingWho     Sentence = "Only one who holds the role of %s, or a higher one, can give it for a while."
	SayActingName    Sentence = "Who is it? Say the whole name, as the department's file has it."
	SayListForce     Sentence = "Version %d of the kit list is in force. The file says so."
	SayOnList        Sentence = "Kit %s is packed to version %d already."
	SayNotOnList     Sentence = "The %s is not on the list of %s, version %d, so it cannot be short there."
	SayLaterList     Sentence = "The %s is not on the list of %s yet: it comes with version %d. Type kit list to see what is to change."
	SayOwnKit        Sentence = "That is your own crew's kit. Somebody from another crew looks at it."
	SayAudited       Sentence = "Kit %s was looked at this quarter."
	SayWhoseFound    Sentence = "%s does not lack the %s, but somebody does. Whose is it?"
	SayNotMine       Sentence = "That is not part of the entry kit. It is on an officer's desk, and I can pass it on."
)

// With fills the pattern and makes it an error for the person.
func (s Sentence) With(args ...any) *UserError {
	return &UserError{Say: fmt.Sprintf(string(s), args...)}
}
