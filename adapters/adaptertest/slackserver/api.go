package slackserver

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
)

// reply is the body of an answer.
type reply map[string]any

func refused(word string) reply { return reply{"ok": false, "error": word} }

// call answers one method of the Web API.
func (s *Server) call(w http.ResponseWriter, r *http.Request, method string) {
	f, failing := s.failing(method)
	if f.Hang {
		_, _ = io.Copy(io.Discard, r.Body) // only then is the caller's going noticed
		<-r.Context().Done()
		return
	}
	if failing && !f.Cut {
		if f.After != "" {
			w.Header().Set("Retry-After", f.After)
		}
		if f.Status != 0 {
			w.WriteHeader(f.Status)
		}
		body := refused(f.Error)
		if f.Error == "missing_scope" {
			body["needed"], body["provided"] = "chat:write", "commands"
		}
		write(w, body)
		return
	}
	args, err := argumentsOf(r)
	if err != nil {
		write(w, refused("invalid_form_data"))
		return
	}
	token := strings.TrimPrefix(r.Header.Get("Authorization"), "Bearer ")
	if token == "" {
		token = args["token"]
	}
	w.Header().Set("X-OAuth-Scopes", s.grants())
	answer := s.do(method, token, args)
	if failing {
		panic(http.ErrAbortHandler) // the work is done, its answer is lost
	}
	write(w, answer)
}

func (s *Server) grants() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.scopes
}

func write(w http.ResponseWriter, body reply) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(body)
}

// argumentsOf reads a form or a JSON object as text by name.
func argumentsOf(r *http.Request) (map[string]string, error) {
	args := make(map[string]string)
	if strings.HasPrefix(r.Header.Get("Content-Type"), "application/json") {
		raw, err := io.ReadAll(io.LimitReader(r.Body, 1<<20))
		if err != nil {
			return nil, err
		}
		var object map[string]json.RawMessage
		if len(raw) == 0 {
			return args, nil
		}
		if err := json.Unmarshal(raw, &object); err != nil {
			return nil, err
		}
		for name, value := range object {
			args[name] = string(value)
			if text := ""; json.Unmarshal(value, &text) == nil {
				args[name] = text
			}
		}
		return args, nil
	}
	if err := r.ParseForm(); err != nil {
		return nil, err
	}
	for name := range r.Form {
		args[name] = r.Form.Get(name)
	}
	return args, nil
}

func (s *Server) do(method, token string, args map[string]string) reply {
	if method == "apps.connections.open" {
		return s.ticket(token)
	}
	if token != BotToken {
		return refused("invalid_auth")
	}
	switch method {
	case "auth.test":
		return reply{"ok": true, "team_id": Team, "user_id": Bot, "bot_id": "B1", "team": "Station", "user": "kit"}
	case "chat.postMessage":
		return s.show(args, "")
	case "chat.postEphemeral":
		return s.show(args, args["user"])
	case "chat.update":
		return s.update(args)
	case "chat.scheduleMessage":
		if !s.known(args["channel"]) {
			return refused("channel_not_found")
		}
		return reply{"ok": true, "scheduled_message_id": "Q1", "channel": args["channel"]}
	case "chat.deleteScheduledMessage":
		return reply{"ok": true}
	case "conversations.info":
		return s.conversation(args["channel"])
	case "views.open", "views.update", "views.publish":
		return s.view(method, args)
	case "files.getUploadURLExternal":
		return s.offer(args)
	case "files.completeUploadExternal":
		return s.complete(args)
	case "files.info":
		return s.fileInfo(args["file"])
	}
	return refused("unknown_method")
}

// conversation says what a channel is.
func (s *Server) conversation(channel string) reply {
	if !s.known(channel) {
		return refused("channel_not_found")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return reply{"ok": true, "channel": reply{"id": channel, "is_channel": true, "is_ext_shared": s.outside[channel]}}
}

func (s *Server) known(channel string) bool {
	return channel == Channel || channel == Other || channel == Direct || strings.HasPrefix(channel, "C9") || strings.HasPrefix(channel, "U")
}

// show keeps a new message.
func (s *Server) show(args map[string]string, only string) reply {
	if !s.known(args["channel"]) {
		return refused("channel_not_found")
	}
	if word := checkMessage(args); word != "" {
		return refused(word)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	m := Message{
		Channel: args["channel"], TS: s.timestamp(), Thread: args["thread_ts"], Only: only, Text: args["text"], Blocks: json.RawMessage(args["blocks"]),
	}
	if strings.HasPrefix(m.Channel, "U") {
		m.Channel = "D" + strings.TrimPrefix(m.Channel, "U")
	}
	s.messages = append(s.messages, m)
	fmt.Fprintln(s.screen, Readable(m))
	s.Tell()
	if only != "" {
		return reply{"ok": true, "message_ts": m.TS}
	}
	return reply{"ok": true, "channel": m.Channel, "ts": m.TS}
}

func (s *Server) update(args map[string]string) reply {
	if word := checkMessage(args); word != "" {
		return refused(word)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for i := range s.messages {
		m := &s.messages[i]
		if m.Channel == args["channel"] && m.TS == args["ts"] && m.Only == "" {
			m.Text, m.Blocks, m.Edited = args["text"], json.RawMessage(args["blocks"]), true
			fmt.Fprintln(s.screen, Readable(*m))
			s.Tell()
			return reply{"ok": true, "channel": m.Channel, "ts": m.TS, "text": m.Text}
		}
	}
	return refused("message_not_found")
}

// checkMessage holds a message to the limits (reference pages "chat.postMessage"
// and "Blocks").
func checkMessage(args map[string]string) string {
	if len([]rune(args["text"])) > 40_000 {
		return "msg_too_long"
	}
	if args["text"] == "" && args["blocks"] == "" {
		return "no_text"
	}
	if args["link_names"] == "1" || args["link_names"] == "true" {
		return "mentions_are_off_here"
	}
	if args["blocks"] == "" {
		return ""
	}
	if err := CheckBlocks(json.RawMessage(args["blocks"]), 50); err != nil {
		return "invalid_blocks"
	}
	return ""
}

func (s *Server) view(method string, args map[string]string) reply {
	var v struct {
		Type   string          `json:"type"`
		Blocks json.RawMessage `json:"blocks"`
	}
	if json.Unmarshal([]byte(args["view"]), &v) != nil {
		return refused("invalid_arguments")
	}
	if err := CheckBlocks(v.Blocks, 100); err != nil {
		return refused("invalid_blocks")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if method == "views.publish" {
		s.homes[args["user_id"]] = json.RawMessage(args["view"])
	} else if args["trigger_id"] == "" && method == "views.open" {
		return refused("invalid_trigger_id")
	} else {
		s.views = append(s.views, json.RawMessage(args["view"]))
	}
	fmt.Fprintln(s.screen, readBlocks(v.Blocks))
	s.Tell()
	return reply{"ok": true, "view": reply{"id": s.id("V")}}
}

// upload is a file on its way or there.
type upload struct {
	name, alt, mime string
	content         []byte
}

func (s *Server) offer(args map[string]string) reply {
	if n, err := strconv.Atoi(args["length"]); err != nil || n <= 0 {
		return refused("invalid_arguments")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	id := s.id("F")
	s.files[id] = &upload{name: args["filename"], alt: args["alt_txt"], mime: "image/png"}
	return reply{"ok": true, "file_id": id, "upload_url": s.http.URL + "/upload/" + id}
}

func (s *Server) receive(w http.ResponseWriter, r *http.Request, id string) {
	content, err := io.ReadAll(io.LimitReader(r.Body, 8<<20))
	s.mu.Lock()
	defer s.mu.Unlock()
	if err != nil || s.files[id] == nil {
		http.NotFound(w, r)
		return
	}
	s.files[id].content = content
	_, _ = io.WriteString(w, "OK")
}

func (s *Server) complete(args map[string]string) reply {
	var files []struct {
		ID string `json:"id"`
	}
	if json.Unmarshal([]byte(args["files"]), &files) != nil || len(files) == 0 {
		return refused("invalid_arguments")
	}
	return reply{"ok": true, "files": []reply{{"id": files[0].ID, "title": "Drawing"}}}
}

func (s *Server) fileInfo(id string) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	f, ok := s.files[id]
	if !ok {
		return refused("file_not_found")
	}
	return reply{"ok": true, "file": reply{
		"id": id, "mimetype": f.mime, "size": len(f.content), "url_private_download": s.http.URL + "/file/" + id,
	}}
}

func (s *Server) hand(w http.ResponseWriter, id string) {
	s.mu.Lock()
	f := s.files[id]
	s.mu.Unlock()
	if f == nil {
		http.NotFound(w, nil)
		return
	}
	_, _ = w.Write(f.content)
}

// Put lays a file of a person's on the server.
func (s *Server) Put(mime string, content []byte) (id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	id = s.id("F")
	s.files[id] = &upload{mime: mime, content: content}
	return id
}

// replied takes an answer by a reply handle.
func (s *Server) replied(w http.ResponseWriter, r *http.Request) {
	args, err := argumentsOf(r)
	if _, failing := s.failing("reply"); failing || err != nil {
		http.Error(w, "expired", http.StatusNotFound)
		return
	}
	args["channel"] = Channel
	s.show(args, User)
	_, _ = io.WriteString(w, "ok")
}
