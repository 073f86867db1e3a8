package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image/jpeg"
	"image/png"
	"log/slog"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/photo"
	"kitbell/bot/store"
)

// fetchFor bounds how long a picture's keeping may hold up a conversation, and
// readFor how long a kept one may take from the disk.
const (
	fetchFor = 20 * time.Second
	readFor  = 5 * time.Second
)

// keeper fetches pictures that may be kept through the platforms that can give
// files, and leaves nothing but their pixels. It implements command.Photos.
type keeper struct {
	platforms map[string]bot.Fetcher
	log       *slog.Logger
	turn      chan struct{} // one at a time: a big picture takes much memory
}

// photosOf gives what fetches pictures, nil when no platform can.
func photosOf(adapters []bot.Adapter, log *slog.Logger) command.Photos {
	k := &keeper{platforms: make(map[string]bot.Fetcher), log: log, turn: make(chan struct{}, 1)}
	for _, a := range adapters {
		if f, ok := a.(bot.Fetcher); ok {
			k.platforms[a.Name()] = f
		}
	}
	if len(k.platforms) == 0 {
		return nil
	}
	return k
}

// Keep fetches one picture and cleans it.
func (k *keeper) Keep(ctx context.Context, platform string, f bot.File) ([]byte, error) {
	from, ok := k.platforms[platform]
	if !ok {
		return nil, bot.SayPhotoFetch.With()
	}
	if f.Size > photo.MaxBytes {
		return nil, bot.SayPhotoBig.With()
	}
	ctx, cancel := context.WithTimeout(ctx, fetchFor)
	defer cancel()
	select {
	case k.turn <- struct{}{}:
		defer func() { <-k.turn }()
	case <-ctx.Done():
		k.log.WarnContext(ctx, "picture not fetched, others took too long", "platform", platform)
		return nil, bot.SayPhotoFetch.With()
	}
	raw, err := from.Fetch(ctx, f, photo.MaxBytes)
	if errors.Is(err, bot.ErrNotFound) {
		return nil, bot.SayPhotoGone.With()
	}
	if err != nil {
		k.log.WarnContext(ctx, "picture not fetched", "platform", platform, "error", err)
		return nil, bot.SayPhotoFetch.With()
	}
	return cleaned(raw)
}

func cleaned(raw []byte) ([]byte, error) {
	clean, err := photo.Clean(raw)
	switch {
	case errors.Is(err, photo.ErrTooBig):
		return nil, bot.SayPhotoBig.With()
	case errors.Is(err, photo.ErrNoPicture):
		return nil, bot.SayPhotoKind.With()
	}
	return clean, err
}

// drawScene makes a picture of a reply a PNG: a drawing of the cards, or a photo
// that was kept with a line.
func drawScene(ctx context.Context, desk *command.Desk, db *store.DB, scene string) ([]byte, error) {
	name, kept := strings.CutPrefix(scene, command.PhotoScene)
	if !kept {
		return desk.Draw(scene)
	}
	if db == nil {
		return nil, fmt.Errorf("picture %s: %w", scene, bot.ErrNotFound)
	}
	ctx, cancel := context.WithTimeout(ctx, readFor)
	defer cancel()
	p, err := db.Photo(ctx, desk.Department.Slug, name)
	if err != nil {
		return nil, fmt.Errorf("read picture: %w", err)
	}
	picture, err := jpeg.Decode(bytes.NewReader(p.JPEG))
	if err != nil {
		return nil, fmt.Errorf("decode picture %s: %w", name, err)
	}
	var out bytes.Buffer
	if err := png.Encode(&out, picture); err != nil {
		return nil, fmt.Errorf("encode picture %s: %w", name, err)
	}
	return out.Bytes(), nil
}
