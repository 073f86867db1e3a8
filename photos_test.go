package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/photo"
	"kitbell/bot/store"
)

// cameraPicture is a JPEG of a phone, with a comment in it.
func cameraPicture(t *testing.T) []byte {
	t.Helper()
	var raw bytes.Buffer
	if err := jpeg.Encode(&raw, image.NewRGBA(image.Rect(0, 0, 64, 48)), nil); err != nil {
		t.Fatal(err)
	}
	comment := "\xFF\xFE\x00\x0DHIDDEN-DATA"
	return append([]byte("\xFF\xD8"+comment), raw.Bytes()[2:]...)
}

// A picture goes from the person's phone to the line it is about, and is shown
// again, with nothing but its pixels.
func TestServerKeepsAPhoto(t *testing.T) {
	w := startServer(t, nil)
	p := w.As("U1")
	if _, _, err := p.Write(w.ctx, slackserver.Direct, "E1 wood wedge missing"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "#1 ")
	id := w.Put("image/jpeg", cameraPicture(t))
	if _, _, err := p.Write(w.ctx, slackserver.Direct, "", slackserver.WithFile(id, "image/jpeg")); err != nil {
		t.Fatal(err)
	}
	for _, step := range []struct{ wait, press string }{
		{"What is the picture for", "It goes with my last report"},
		{"Keep the picture with #1", "Keep: tool only, no person, mail or house number"},
	} {
		w.await(t, step.wait)
		if _, err := p.Press(w.ctx, step.press); err != nil {
			t.Fatal(err)
		}
	}
	w.await(t, "Kept with #1")
	uploads := w.Calls("files.completeUploadExternal")
	if _, _, err := p.Write(w.ctx, slackserver.Direct, "queue 1"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "photo of the tool")
	if w.Calls("files.completeUploadExternal") != uploads+1 {
		t.Errorf("not shown:\n%s\n%s", w.Shown(), w.out)
	}
	w.stop()
	db, err := store.OpenCopy(t.Context(), filepath.Join(w.dir, databaseFile), store.Options{Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	all, err := db.Photos(t.Context(), "dept", 1)
	if err != nil || len(all) != 1 {
		t.Fatalf("%v, %v", all, err)
	}
	kept, err := db.Photo(t.Context(), "dept", all[0].Name)
	if err != nil || bytes.Contains(kept.JPEG, []byte("HIDDEN")) {
		t.Errorf("%v, %d bytes", err, len(kept.JPEG))
	}
	desk := &command.Desk{Department: &department.Department{Slug: "dept"}}
	if drawn, err := drawScene(t.Context(), desk, db, command.PhotoScene+kept.Name); err != nil || !bytes.HasPrefix(drawn, []byte("\x89PNG")) {
		t.Errorf("shown %d bytes, %v", len(drawn), err)
	}
	if _, err := drawScene(t.Context(), desk, db, command.PhotoScene+"nothing"); !errors.Is(err, bot.ErrNotFound) {
		t.Errorf("a picture of nothing: %v", err)
	}
}

// filesOf is an adapter with one file.
type filesOf struct {
	bot.Adapter
	raw []byte
	err error
}

// Name is a platform's.
func (filesOf) Name() string { return "slack" }

// Fetch gives the file.
func (f filesOf) Fetch(context.Context, bot.File, int64) ([]byte, error) { return f.raw, f.err }

// Each trouble with a picture has its sentence; what the platform says stays in
// the log.
func TestKeeper(t *testing.T) {
	var plain bytes.Buffer
	if err := png.Encode(&plain, image.NewGray(image.Rect(0, 0, 9, 9))); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name, platform string
		raw            []byte
		err            error
		size           int64
		want           bot.Sentence
	}{
		{"a picture", "slack", plain.Bytes(), nil, 0, ""},
		{"a platform without files", "console", plain.Bytes(), nil, 0, bot.SayPhotoFetch},
		{"too big, as the platform says", "slack", plain.Bytes(), nil, photo.MaxBytes + 1, bot.SayPhotoBig},
		{"gone", "slack", nil, fmt.Errorf("look: %w", bot.ErrNotFound), 0, bot.SayPhotoGone},
		{"refused", "slack", nil, errors.New("missing scope files:read"), 0, bot.SayPhotoFetch},
		{"no picture", "slack", []byte("<svg/>"), nil, 0, bot.SayPhotoKind},
	} {
		t.Run(row.name, func(t *testing.T) {
			var log bytes.Buffer
			k := photosOf([]bot.Adapter{filesOf{raw: row.raw, err: row.err}}, slog.New(slog.NewTextHandler(&log, nil)))
			got, err := k.Keep(t.Context(), row.platform, bot.File{ID: "F1", Size: row.size})
			if row.want == "" {
				if err != nil || len(got) == 0 {
					t.Errorf("%d bytes, %v", len(got), err)
				}
				return
			}
			var say *bot.UserError
			if !errors.As(err, &say) || say.Say != string(row.want) {
				t.Errorf("%v, want %s", err, row.want)
			}
			if row.name == "refused" && !strings.Contains(log.String(), "files:read") {
				t.Errorf("log %q", log.String())
			}
		})
	}
	if photosOf(nil, slog.New(slog.DiscardHandler)) != nil {
		t.Error("kept without a platform")
	}
}
