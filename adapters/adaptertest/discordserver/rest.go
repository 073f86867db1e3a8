package discordserver

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"regexp"
	"strings"
	"unicode/utf8"
)

// refusal is an answer that is no success.
type refusal struct {
	status, code int
	words        string
	after        float64 // of a 429, in seconds
}

// Error is what the platform says.
func (r *refusal) Error() string { return r.words }

// Refusals with the platform's codes (reference page "JSON error codes").
func gone() error          { return &refusal{status: 404, code: 10003, words: "Unknown Channel"} }
func goneMessage() error   { return &refusal{status: 404, code: 10008, words: "Unknown Message"} }
func bad(why string) error { return &refusal{status: 400, code: 50035, words: why} }
func notAllowed() error    { return &refusal{status: 401, code: 0, words: "401: Unauthorized"} }
func hookGone() error      { return &refusal{status: 404, code: 10015, words: "Unknown Webhook"} }

func (s *Server) call(w http.ResponseWriter, r *http.Request, path string) {
	place := r.Method + " " + strings.SplitN(path, "/", 2)[0]
	f, failing := s.failing(place)
	if failing && !f.Cut {
		fail(w, f)
		return
	}
	answer, err := s.do(r, w.Header(), strings.Split(path, "/"))
	if failing {
		panic(http.ErrAbortHandler) // the work is done, its answer is lost
	}
	var refused *refusal
	switch {
	case errors.As(err, &refused) && refused.after > 0:
		w.Header().Set("Retry-After", fmt.Sprint(int(refused.after)+1))
		write(w, refused.status, reply{"message": refused.words, "retry_after": refused.after, "global": false})
	case errors.As(err, &refused):
		write(w, refused.status, reply{"code": refused.code, "message": refused.words})
	case answer == nil:
		w.WriteHeader(http.StatusNoContent)
	default:
		write(w, http.StatusOK, answer)
	}
}

func fail(w http.ResponseWriter, f Failure) {
	if f.Header != "" {
		w.Header().Set("Retry-After", f.Header)
	}
	if f.Bare {
		w.WriteHeader(f.Status)
		_, _ = io.WriteString(w, "<html>no</html>")
		return
	}
	body := reply{"message": "refused", "code": f.Code}
	if f.After > 0 {
		body["retry_after"], body["global"] = f.After, f.Global
		w.Header().Set("Retry-After", fmt.Sprint(f.After))
	}
	write(w, f.Status, body)
}

func write(w http.ResponseWriter, status int, body any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(body)
}

func (s *Server) failing(place string) (f Failure, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.calls[place]++
	s.Tell()
	if all := s.fails[place]; len(all) > 0 {
		s.fails[place] = all[1:]
		return all[0], true
	}
	return Failure{}, false
}

// body reads a JSON body, or the JSON and the pictures of a multipart one.
func body(r *http.Request) (raw []byte, err error) {
	kind, params, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind != "multipart/form-data" {
		return io.ReadAll(io.LimitReader(r.Body, 10<<20))
	}
	reader := multipart.NewReader(r.Body, params["boundary"])
	for {
		part, err := reader.NextPart()
		if errors.Is(err, io.EOF) {
			return raw, nil
		}
		if err != nil {
			return nil, err
		}
		if part.FormName() == "payload_json" {
			if raw, err = io.ReadAll(part); err != nil {
				return nil, err
			}
		}
	}
}

// everything is all that a bot needs to be allowed.
const everything = 1<<10 | 1<<11 | 1<<14 | 1<<15 | 1<<16 | 1<<35 | 1<<38

func (s *Server) gatewayForBot() any {
	s.mu.Lock()
	defer s.mu.Unlock()
	return reply{
		"url": "ws" + s.http.URL[len("http"):] + "/gateway", "shards": 1,
		"session_start_limit": reply{"total": 1000, "remaining": s.left, "reset_after": 3_600_000, "max_concurrency": 1},
	}
}

// room takes a place in the channel's bucket.
func (s *Server) room(channel string, header http.Header) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if wait := s.bucket.take(channel, header); wait > 0 {
		return &refusal{status: http.StatusTooManyRequests, words: "You are being rate limited.", after: wait.Seconds()}
	}
	return nil
}

func (s *Server) do(r *http.Request, header http.Header, path []string) (any, error) {
	is := func(method string, words ...string) bool {
		if r.Method != method || len(path) != len(words) {
			return false
		}
		for i, w := range words {
			if w != "*" && w != path[i] {
				return false
			}
		}
		return true
	}
	raw, err := body(r)
	if err != nil {
		return nil, bad("body")
	}
	secret := path[0] == "interactions" || path[0] == "webhooks"
	if !secret && path[0] != "gateway" && r.Header.Get("Authorization") != "Bot "+Token {
		return nil, notAllowed()
	}
	switch {
	case is("GET", "gateway"):
		return reply{"url": "ws" + s.http.URL[len("http"):] + "/gateway"}, nil
	case is("GET", "gateway", "bot"):
		return s.gatewayForBot(), nil
	case is("GET", "guilds", Guild):
		return reply{"id": Guild, "name": "Tarn Harbor", "owner_id": "1", "roles": []reply{{"id": Guild, "permissions": fmt.Sprint(int64(everything))}}}, nil
	case is("GET", "guilds", Guild, "members", Bot):
		return reply{"roles": []string{}}, nil
	case is("POST", "channels", "*", "messages"):
		if err := s.room(path[1], header); err != nil {
			return nil, err
		}
		return s.create(path[1], "", raw)
	case is("GET", "channels", "*", "messages"):
		return s.since(path[1], r.URL.Query().Get("after")), nil
	case is("GET", "channels", "*", "messages", "*"):
		return s.byPerson(path[3])
	case is("GET", "channels", "*"):
		return s.channel(path[1])
	case is("PATCH", "channels", "*", "messages", "*"):
		return s.edit(path[1], path[3], raw)
	case is("POST", "channels", "*", "messages", "*", "threads"):
		return s.thread(path[1], path[3], raw)
	case is("POST", "users", "@me", "channels"):
		return reply{"id": Direct}, nil
	case is("GET", "users", "@me"):
		return reply{"id": Bot, "username": "kit"}, nil
	case is("POST", "interactions", "*", "*", "callback"):
		return nil, s.answered(path[1], path[2], raw)
	case is("PATCH", "webhooks", App, "*", "messages", "@original"):
		return s.original(path[2], raw)
	case is("DELETE", "webhooks", App, "*", "messages", "@original"):
		return nil, s.takenBack(path[2])
	case is("PATCH", "webhooks", App, "*", "messages", "*"):
		return s.changedByToken(path[2], path[4], raw)
	case is("POST", "webhooks", App, "*"):
		return s.followUp(path[2], raw)
	case is("GET", "applications", App, "guilds", "*", "commands"):
		return s.commandsOf(path[3]), nil
	case is("PUT", "applications", App, "guilds", "*", "commands"):
		return s.setCommands(path[3], raw)
	case is("GET", "applications", "@me"):
		return reply{"id": App, "flags": 1 << 19}, nil
	}
	return nil, &refusal{status: 404, code: 0, words: "404: Not Found"}
}

func (s *Server) known(channel string) bool {
	return channel == Channel || channel == Other || channel == Thread || channel == Direct || s.threads[channel] != "" ||
		strings.HasPrefix(channel, more) && len(channel) == len(Channel)
}

func (s *Server) channel(id string) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.known(id) {
		return nil, gone()
	}
	switch {
	case id == Direct:
		return reply{"id": id, "type": 1}, nil
	case id == Thread:
		return reply{"id": id, "guild_id": Guild, "type": 11, "parent_id": Other}, nil
	case s.threads[id] != "":
		return reply{"id": id, "guild_id": Guild, "type": 11, "parent_id": s.threads[id]}, nil
	}
	c := reply{"id": id, "guild_id": Guild, "type": 0, "name": "station-4"}
	if s.denied != 0 && id == Channel {
		c["permission_overwrites"] = []reply{{"id": Guild, "type": 0, "allow": "0", "deny": fmt.Sprint(s.denied)}}
	}
	return c, nil
}

// sent is a message's body as far as it is read.
type sent struct {
	Content  string `json:"content"`
	Nonce    string `json:"nonce"`
	Enforce  bool   `json:"enforce_nonce"`
	Flags    int    `json:"flags"`
	Mentions *struct {
		Parse []string `json:"parse"`
	} `json:"allowed_mentions"`
	Embeds []struct {
		Description string `json:"description"`
	} `json:"embeds"`
	Components  []component `json:"components"`
	Attachments []struct {
		Description string `json:"description"`
	} `json:"attachments"`
}

type component struct {
	Type       int         `json:"type"`
	ID         string      `json:"custom_id"`
	Label      string      `json:"label"`
	Components []component `json:"components"`
	Options    []struct {
		Label string `json:"label"`
		Value string `json:"value"`
	} `json:"options"`
}

// check holds a message to the platform's limits, those too that its
// description lacks (PLATFORMS.md).
func (s *Server) check(schema string, raw []byte) (sent, error) {
	var m sent
	if err := json.Unmarshal(raw, &m); err != nil {
		return m, bad(err.Error())
	}
	embeds := 0
	for _, e := range m.Embeds {
		embeds += utf8.RuneCountInString(e.Description)
	}
	switch {
	case utf8.RuneCountInString(m.Content) > 2000:
		return m, bad("content is longer than 2,000")
	case embeds > 6000:
		return m, bad("embeds are longer than 6,000")
	case m.Content == "" && len(m.Embeds) == 0 && len(m.Components) == 0:
		return m, bad("empty message")
	case len(m.Components) > 5:
		return m, bad("more than five rows")
	case m.Mentions == nil || len(m.Mentions.Parse) > 0:
		return m, bad("people could be called")
	}
	ids := make(map[string]bool)
	for _, row := range m.Components {
		if len(row.Components) > 5 {
			return m, bad("more than five in a row")
		}
		for _, c := range row.Components {
			if ids[c.ID] || len(c.ID) > 100 || utf8.RuneCountInString(c.Label) > 80 || len(c.Options) > 25 {
				return m, bad("component " + c.ID)
			}
			ids[c.ID] = true
		}
	}
	if s.Check != nil {
		if err := s.Check(schema, raw); err != nil {
			return m, bad(err.Error())
		}
	}
	return m, nil
}

// create keeps a new message; one with a nonce that was there is the same one.
func (s *Server) create(channel, only string, raw []byte) (any, error) {
	m, err := s.check("MessageCreateRequest", raw)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.known(channel) {
		return nil, gone()
	}
	nonce := channel + "/" + m.Nonce
	if id, there := s.nonces[nonce]; there && m.Enforce && m.Nonce != "" {
		return reply{"id": id, "channel_id": channel}, nil
	}
	id := s.id()
	if m.Nonce != "" {
		s.nonces[nonce] = id
	}
	s.show(id, channel, only, m, raw)
	return reply{"id": id, "channel_id": channel}, nil
}

// show puts a message on the screen; mu is held.
func (s *Server) show(id, channel, only string, m sent, raw []byte) {
	one := Message{ID: id, Channel: channel, Only: only, Text: m.text(), Raw: raw}
	for _, a := range m.Attachments {
		one.Files = append(one.Files, a.Description)
	}
	s.messages = append(s.messages, one)
	fmt.Fprintln(s.screen, m.readable())
	s.Tell()
}

func (m sent) text() string {
	text := m.Content
	for _, e := range m.Embeds {
		text += e.Description
	}
	return text
}

// readable is a message as a person reads it: layout is gone, escaped signs are
// signs, buttons stand below.
func (m sent) readable() string {
	var b strings.Builder
	b.WriteString(undoMarks(strings.ReplaceAll(m.text(), "\u200b", "")))
	b.WriteByte('\n')
	for _, row := range m.Components {
		for _, c := range row.Components {
			if c.Label != "" {
				b.WriteString("[" + c.Label + "] ")
			}
			for _, o := range c.Options {
				b.WriteString("[" + o.Label + "] ")
			}
		}
	}
	return b.String()
}

// emoji is a name that the platform shows as a picture.
var emoji = regexp.MustCompile(`:[a-z0-9_]*[a-z][a-z0-9_]*:`)

// undoMarks takes layout away as the platform's own display does: a sign that is
// not escaped is layout, and the name of an emoji is a picture.
func undoMarks(text string) string {
	var b strings.Builder
	begin := true
	for i := 0; i < len(text); {
		if at := emoji.FindStringIndex(text[i:]); at != nil && at[0] == 0 {
			i += at[1]
			continue
		}
		r, size := utf8.DecodeRuneInString(text[i:])
		i += size
		switch {
		case r == '\\' && i < len(text) && strings.IndexByte("\\*_~`|<>[]()#+-@:!.", text[i]) >= 0:
			b.WriteByte(text[i])
			i++
		case strings.ContainsRune("*_~`|<[", r) || begin && strings.ContainsRune("#>-", r):
		default:
			b.WriteRune(r)
		}
		begin = r == '\n' || begin && r == ' '
	}
	return b.String()
}

func (s *Server) edit(channel, id string, raw []byte) (any, error) {
	m, err := s.check("MessageEditRequestPartial", raw)
	if err != nil {
		return nil, err
	}
	return s.replace(channel, id, m, raw, false)
}

// replace puts new content in a message's place; byToken opens those that one
// person saw.
func (s *Server) replace(channel, id string, m sent, raw []byte, byToken bool) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i := range s.messages {
		if one := &s.messages[i]; one.Channel == channel && one.ID == id && (one.Only == "" || byToken) {
			one.Text, one.Raw, one.Edited = m.text(), raw, true
			fmt.Fprintln(s.screen, m.readable())
			s.Tell()
			return reply{"id": id, "channel_id": channel}, nil
		}
	}
	return nil, goneMessage()
}

func (s *Server) thread(channel, id string, raw []byte) (any, error) {
	var t struct {
		Name string `json:"name"`
	}
	if json.Unmarshal(raw, &t) != nil || t.Name == "" || utf8.RuneCountInString(t.Name) > 100 {
		return nil, bad("name of thread")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.known(channel) {
		return nil, gone()
	}
	if s.threads[id] != "" {
		return nil, &refusal{status: 400, code: 160004, words: "A thread has already been created for this message"}
	}
	s.threads[id] = channel
	return reply{"id": id, "parent_id": channel, "type": 11}, nil
}

// answered takes the first answer to an interaction.
func (s *Server) answered(id, token string, raw []byte) error {
	var a struct {
		Type int             `json:"type"`
		Data json.RawMessage `json:"data"`
	}
	if err := json.Unmarshal(raw, &a); err != nil {
		return bad(err.Error())
	}
	var flags struct {
		Flags int `json:"flags"`
	}
	_ = json.Unmarshal(a.Data, &flags)
	one, err := s.firstAnswer(id, token, raw, a.Type == 5, flags.Flags&ephemeral != 0)
	if err != nil {
		return err
	}
	switch a.Type {
	case 4:
		_, err := s.create(one.channel, one.onlyFor(flags.Flags), a.Data)
		return err
	case 9:
		if s.Check != nil {
			if err := s.Check("ModalInteractionCallbackRequestData", a.Data); err != nil {
				return bad(err.Error())
			}
		}
		s.mu.Lock()
		defer s.mu.Unlock()
		s.forms = append(s.forms, a.Data)
		s.Tell()
	}
	return nil
}

func (s *Server) firstAnswer(id, token string, raw []byte, promises, only bool) (asked, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	one := s.asked[token]
	if one == nil {
		return asked{}, hookGone()
	}
	if one.answered {
		return asked{}, &refusal{status: 400, code: 40060, words: "Interaction has already been acknowledged."}
	}
	one.answered, one.promised, one.only = true, promises, only
	s.answers[id] = raw
	s.Tell()
	return *one, nil
}

const ephemeral = 1 << 6

func (a asked) onlyFor(flags int) string {
	if flags&ephemeral != 0 {
		return a.person
	}
	return ""
}

// byToken finds an interaction that has its first answer; before that its token
// opens nothing. kept says that a promise was open and is kept now.
func (s *Server) byToken(token string) (one asked, kept bool, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	found := s.asked[token]
	if found == nil || !found.answered {
		return asked{}, false, hookGone()
	}
	kept, found.promised = found.promised, false
	return *found, kept, nil
}

// original puts an answer in the place of "on its way".
func (s *Server) original(token string, raw []byte) (any, error) {
	one, kept, err := s.byToken(token)
	if err != nil || !kept {
		return nil, hookGone()
	}
	only := ""
	if one.only {
		only = one.person
	}
	return s.create(one.channel, only, raw)
}

func (s *Server) takenBack(token string) error {
	_, kept, err := s.byToken(token)
	if err != nil || !kept {
		return goneMessage()
	}
	return nil
}

// followUp is a further answer; the first one keeps an open promise, whatever it
// says itself.
func (s *Server) followUp(token string, raw []byte) (any, error) {
	one, kept, err := s.byToken(token)
	if err != nil {
		return nil, err
	}
	var m sent
	_ = json.Unmarshal(raw, &m)
	only := one.onlyFor(m.Flags)
	if kept {
		only = ""
		if one.only {
			only = one.person
		}
	}
	return s.create(one.channel, only, raw)
}

// changedByToken changes what an interaction showed.
func (s *Server) changedByToken(token, id string, raw []byte) (any, error) {
	one, _, err := s.byToken(token)
	if err != nil {
		return nil, err
	}
	m, err := s.check("MessageEditRequestPartial", raw)
	if err != nil {
		return nil, err
	}
	return s.replace(one.channel, id, m, raw, true)
}

func (s *Server) commandsOf(guild string) any {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.commands[guild] == nil {
		return []reply{}
	}
	return s.commands[guild]
}

func (s *Server) setCommands(guild string, raw []byte) (any, error) {
	var all []struct {
		Name        string `json:"name"`
		Description string `json:"description"`
		Type        int    `json:"type"`
		Options     []reply
	}
	if err := json.Unmarshal(raw, &all); err != nil {
		return nil, bad(err.Error())
	}
	for _, c := range all {
		if c.Type == 1 && (c.Name != strings.ToLower(c.Name) || len(c.Name) > 32 || c.Description == "" || len(c.Description) > 100) {
			return nil, bad("command " + c.Name)
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.commands[guild] = raw
	s.Tell()
	return json.RawMessage(raw), nil
}
