package understand

import "strings"

// grammar holds the small words that the code's own rules turn on. They are the
// grammar of English and not vocabulary, so they stand here.
type grammar struct {
	and, but, both, all, of, x, s, our, not, no, half, in, out, here, to, away, can, could, canair, where, it, or wordID

	because, left, didnt, unitCell, itemCell, numberCell, dayCell, platoonCell wordID

	shift    map[wordID]bool // beside a letter: it is a platoon's
	line     map[wordID]bool // before a number: of a queue line, a seal, a lot, an order
	seal     map[wordID]bool
	lot      map[wordID]bool
	order    map[wordID]bool
	vague    map[wordID]bool // numbers that are no rig's: couple, pair, few
	refers   map[wordID]bool // before a rig: it is not the one concerned (back from E3)
	places   map[wordID]bool // where something was found: on, in
	gives    map[wordID]bool // behind a rig: it handed something over
	correct  map[wordID]bool // what follows takes back what was said
	none     map[wordID]bool // negations of a noun: no cards, nothing missing
	aux      map[wordID]bool // begin a question only without a subject before them
	points   map[wordID]bool // before a thing that was named already
	ones     map[wordID]bool // ends of "the wood ones"
	likens   map[wordID]bool // "as a screwdriver": what follows is no item
	breaks   map[wordID]bool // behind an item: it does not do what it should
	states   map[wordID]bool // behind an item: a statement about it begins
	people   map[wordID]bool // somebody is spoken of
	leads    map[wordID]bool // may stand before the first word of a question
	articles map[wordID]bool // behind "can": it is the verb
	naming   map[wordID]bool // stand before the name of a thing
	entire   map[wordID]bool // before "but": what follows is the exception
	kits     map[wordID]bool // the kit as such
	things   map[wordID]bool // names for a thing whose name one forgot
	empties  map[wordID]bool // behind "can": it is the spray can
	pouches  map[wordID]bool // behind an item: its place in the kit
	holds    map[wordID]bool // behind that place: something is in it
	doors    map[wordID]bool // a door as such
	crew     map[wordID]bool // the people who ask
	puts     map[wordID]bool // somebody laid it there
	its      map[wordID]bool // stand for a thing
	cancels  map[wordID]bool // take a report back
	poses    map[wordID]bool // begin what a question supposes
	subjects map[wordID]bool // who is asked about
	lives    map[wordID]bool // "where the knife goes"
	doubts   map[wordID]bool // leave open whether all is there
	whole    map[wordID]bool // of a seal: as it should be
	torn     map[wordID]bool // of a seal: not as it should be
	bursts   map[wordID]bool // of a tool: it flew apart
	halts    map[wordID]bool // begin an order that nobody uses a thing
	lists    map[wordID]bool // stand between the items of a list, or before one
}

func newGrammar(v *vocabulary) grammar {
	set := func(words string) map[wordID]bool {
		m := map[wordID]bool{}
		for w := range strings.FieldsSeq(words) {
			m[v.id(w)] = true
		}
		return m
	}
	for w := range useWords {
		v.id(w)
	}
	return grammar{
		and: v.id("and"), but: v.id("but"), both: v.id("both"), all: v.id("all"), of: v.id("of"),
		x: v.id("x"), s: v.id("s"), our: v.id("our"), not: v.id("not"), no: v.id("no"), half: v.id("half"), in: v.id("in"), out: v.id("out"), here: v.id("here"), to: v.id("to"), away: v.id("away"), can: v.id("can"), could: v.id("could"), canair: v.id("canair"), where: v.id("where"), it: v.id("it"), or: v.id("or"),
		because: v.id("because"), left: v.id("left"), didnt: v.id("didnt"), unitCell: v.id("unit cell"), itemCell: v.id("item cell"), numberCell: v.id("number cell"),
		dayCell: v.id("day cell"), platoonCell: v.id("platoon cell"),
		shift:    set("shift platoon shifts crew"),
		line:     set("line lines ticket"),
		seal:     set("seal tag tagged sealed seals"),
		lot:      set("lot batch lots"),
		order:    set("order po"),
		vague:    set("couple pair few another single"),
		refers:   set("from to with by toward"),
		places:   set("on in at behind under over"),
		gives:    set("gave gives returned brought lent loaned handed sent had borrowed took"),
		correct:  set("no actually wait sorry correction scratch mean meant nope rather instead"),
		none:     set("no nothing none without zero never"),
		aux:      set("is are was were do does did can could should would will may must am has have"),
		articles: set("the a an our this that"),
		naming:   set("the our that this my"),
		entire:   set("everything all"),
		kits:     set("kit bag roll pouch"),
		things:   set("gizmo doohickey thingamajig thingamabob thingy thingie whatchamacallit whatsit whatsitcalled whatchacallit doodad widget dohickey gadget contraption gubbins whosit thingymajig doojigger"),
		empties:  set("is was s isnt wasnt has empty low dead out dry feels sprays spits sputters wont doesnt ran gone almost nearly half getting leaks leaking"),
		pouches:  set("slot pouch sleeve spot holder pocket place loop"),
		holds:    set("has had holds got contains"),
		doors:    set("door doors doorway entrance"),
		crew:     set("we i us our"),
		puts:     set("put stuck shoved stuffed jammed crammed"),
		its:      set("it its that this one they theyre them"),
		cancels:  set("cancel scratch strike close closing disregard forget nix nvm nevermind never drop kill remove clear ignore take"),
		poses:    set("if suppose supposing say when"),
		subjects: set("we i you it they he she"),
		lives:    set("goes belongs lives sits rides"),
		doubts:   set("maybe perhaps probably possibly almost nearly mostly hopefully supposedly apparently think thinking guess guessing assume assuming assumed suppose supposed believe should might may could would unsure unclear unknown doubt doubtful if unless until till once when but except besides minus incomplete half most some soon later tomorrow will going need needs have-to still-to wish unverified partially partly"),
		whole:    set("intact unbroken whole good ok okay fine untouched undamaged unopened unchanged same solid there secure"),
		torn:     set("broken broke break cut cuts missing gone lost torn tore ripped snapped opened open removed loose damaged cracked popped off fell fallen hanging bent bad failed busted sliced clipped undone tampered disturbed different wrong changed mismatch"),
		bursts:   set("blew blown exploded explosion burst blast"),
		halts:    set("stop quit halt nobody noone everybody everyone recall recalled pull pulling yank cease"),
		lists:    set("and or plus also too with the a an of our my both all is are it its now here there"),
		points:   set("the that this its"),
		ones:     set("one ones kind type sort"),
		likens:   set("as like"),
		breaks:   set("wont doesnt cant"),
		states:   set("is are was has have got looks look feels seems keeps"),
		people:   set("we i us our she he her him they somebody someone person people man woman guy lady kid patient caller"),
		leads:    set("hey hi so and but also ok okay yo quick question wondering just cap chief guys folks"),
	}
}
