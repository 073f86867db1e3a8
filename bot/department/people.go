package department

import (
	"slices"
	"strings"

	"kitbell/bot"
)

func (w *walk) member(o object) {
	m := Member{Rank: o.mayText("rank"), Acting: o.mayYes("acting"), Probation: o.mayYes("probation"), Roles: memberRoles(o)}
	m.ID, _ = w.thing("member", o)
	m.Name, _, _ = o.needText("name")
	m.Unit = w.mayRefer(o, "unit", "unit")
	m.Platoon = w.mayRefer(o, "platoon", "platoon")
	if v, ok := o.may("status"); ok {
		status, _ := v.among([]string{string(OnLeave), string(OnDetail), string(LightDuty)})
		m.Status = Status(status)
	}
	if v, ok := o.may("accounts"); ok {
		m.Accounts = w.accounts(v)
	}
	w.dept.Members = append(w.dept.Members, m)
}

func memberRoles(o object) []Role {
	v, ok := o.may("roles")
	if !ok {
		return []Role{Crew}
	}
	var known []string
	for _, r := range Roles() {
		known = append(known, string(r))
	}
	var roles []Role
	for _, one := range v.list("role") {
		if t, ok := one.among(known); ok {
			roles = append(roles, Role(t))
		}
	}
	if len(roles) > 1 && slices.Contains(roles, Guest) {
		v.bad("roles: a guest has no other role")
	}
	return roles
}

// accounts reads who a member is on each platform. One account is one person.
func (w *walk) accounts(v value) map[string]string {
	o, ok := v.object()
	if !ok {
		return nil
	}
	accounts := map[string]string{}
	all, _ := pairs(v.node)
	for _, pair := range all {
		platform := pair.Key.GetToken().Value
		account, ok := o.may(platform)
		if !ok || account.node != pair.Value {
			continue // said when the keys were read
		}
		id, ok := account.text()
		p, known := w.knownPlatform(account, platform)
		if ok && known && w.fits(account, "account", id, p.Account) {
			w.declare(platform+" account", account, id)
			accounts[platform] = id
		}
	}
	return accounts
}

// platform reads where a platform's API is, for a server that is compatible with
// it. Tokens go there, so it is https, or this machine itself.
func (w *walk) platform(o object) {
	v, ok := o.need("platform")
	if !ok {
		return
	}
	id, ok := v.id()
	if !ok {
		return
	}
	if _, known := w.knownPlatform(v, id); !known {
		return
	}
	w.declare("platform", v, id)
	text, at, ok := o.needText("api")
	if !ok {
		return
	}
	if err := bot.CheckServer(text, "https", "http"); err != nil {
		at.bad("api: %v", err)
		return
	}
	if w.dept.Servers == nil {
		w.dept.Servers = make(map[string]string)
	}
	w.dept.Servers[id] = text
}

func (w *walk) channel(o object) {
	c := Channel{Workspace: o.mayText("workspace"), Listen: o.mayYes("listen")}
	var p Platform
	known := false
	if v, ok := o.need("platform"); ok {
		if c.Platform, ok = v.id(); ok {
			p, known = w.knownPlatform(v, c.Platform)
		}
	}
	id, at, ok := o.needText("id")
	if ok && known && w.fits(at, "channel's id", id, p.Channel) && p.Workspace.Fits != nil {
		if v, there := o.may("workspace"); there {
			w.fits(v, "workspace", c.Workspace, p.Workspace)
		} else {
			o.bad("channel: a channel on %s needs the key \"workspace\", such as %s", c.Platform, p.Workspace.Example)
		}
	}
	if c.ID = id; ok && c.Platform != "" {
		w.declare("channel", at, strings.Trim(c.Platform+" "+c.Workspace, " ")+" "+id)
	}
	if v, ok := o.need("use"); ok {
		use, _ := v.among([]string{string(StationChannel), string(ProgrammeChannel), string(OfficersChannel)})
		c.Use = ChannelUse(use)
	}
	w.channelStation(o, &c)
	w.dept.Channels = append(w.dept.Channels, c)
}

// knownPlatform finds a platform by its name. A loader that knows none takes
// every name.
func (w *walk) knownPlatform(v value, name string) (p Platform, ok bool) {
	var names []string
	for _, p := range w.known.Platforms {
		if p.Name == name {
			return p, true
		}
		names = append(names, p.Name)
	}
	if len(names) > 0 {
		v.bad("%s: there is no platform %q%s (one of %s)", v.what, name, didYouMean(name, names), strings.Join(names, ", "))
		return Platform{}, false
	}
	return Platform{}, true
}

// fits says whether an id looks like one of its platform's.
func (w *walk) fits(v value, what, id string, shape IDShape) bool {
	if shape.Fits == nil || shape.Fits(id) {
		return true
	}
	v.bad("%s: %q is no %s: the platform's own id looks like %s", v.what, id, what, shape.Example)
	return false
}

func (w *walk) channelStation(o object, c *Channel) {
	v, there := o.may("station")
	switch {
	case c.Use == StationChannel && !there:
		o.bad("channel: a station's channel needs the key \"station\"")
	case c.Use != StationChannel && there && c.Use != "":
		v.bad("channel: only a station's channel has a station")
	case there:
		c.Station, _ = w.refer("station", v)
	}
}

// skill reads one line of the task book.
func (w *walk) skill(o object) {
	s := Skill{Title: o.mayText("title"), NoDoor: o.mayYes("no-door")}
	s.ID, _ = w.thing("skill", o)
	if s.Title == "" {
		s.Title = s.ID
	}
	w.dept.TaskBook = append(w.dept.TaskBook, s)
}

// drillTarget reads what a drill's task is to be done within.
func (w *walk) drillTarget(o object) {
	v, ok := o.need("drill")
	if !ok {
		return
	}
	t := DrillTarget{Drill: w.card(v, w.known.Drills)}
	w.declare("target of drill", v, t.Drill)
	if minutes, there := o.may("minutes"); there {
		t.Minutes, _ = minutes.whole(1, 60)
	}
	if tries, there := o.may("tries"); there {
		t.Tries, _ = tries.whole(1, 60)
	}
	w.dept.Targets = append(w.dept.Targets, t)
}

// evaluator reads who may sign which skills; with none named, all.
func (w *walk) evaluator(o object) {
	v, ok := o.need("member")
	if !ok {
		return
	}
	member, ok := w.refer("member", v)
	if !ok {
		return
	}
	if i := slices.IndexFunc(w.dept.Members, func(m Member) bool { return m.ID == member }); i >= 0 && w.dept.Members[i].Has(Guest) {
		v.bad("member: %s is a guest, and a guest signs nothing", member)
		return
	}
	e := Evaluator{Member: member}
	if list, there := o.may("skills"); there {
		for _, one := range list.list("skill") {
			if id, ok := w.refer("skill", one); ok {
				e.Skills = append(e.Skills, id)
			}
		}
		if len(e.Skills) == 0 {
			return // said above, or a list of none: nobody signs everything by a slip
		}
	}
	w.dept.Evaluators = append(w.dept.Evaluators, e)
}
