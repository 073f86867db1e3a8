package discord

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"

	"kitbell/bot"
)

// Fetch gives the content of a file of a message. Its address is asked of the
// API anew, for links expire, and its host must be the platform's.
func (a *Adapter) Fetch(ctx context.Context, f bot.File, limit int64) ([]byte, error) {
	parts := strings.Split(f.ID, "/")
	if len(parts) != 3 || !isID(parts[0]) || !isID(parts[1]) || !isID(parts[2]) {
		return nil, fmt.Errorf("file is none of this platform's: %w", bot.ErrNotFound)
	}
	var m message
	if err := a.call(ctx, "GET", "channels/"+parts[0]+"/messages/"+parts[1], nil, &m); err != nil {
		return nil, fmt.Errorf("look file up: %w", err)
	}
	for _, one := range m.Attachments {
		if one.ID == parts[2] {
			return a.download(ctx, one, limit)
		}
	}
	return nil, fmt.Errorf("file is not on its message any more: %w", bot.ErrNotFound)
}

func (a *Adapter) download(ctx context.Context, f attachment, limit int64) ([]byte, error) {
	if !a.ours(f.URL) {
		return nil, errors.New("file does not lie on the platform")
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, f.URL, nil)
	if err != nil {
		return nil, errors.New("file has no address")
	}
	response, err := (&http.Client{Timeout: callFor}).Do(request)
	if err != nil {
		return nil, errors.New("file not reached")
	}
	defer response.Body.Close()
	content, err := io.ReadAll(io.LimitReader(response.Body, limit+1))
	switch {
	case err != nil || response.StatusCode != http.StatusOK:
		return nil, fmt.Errorf("file not given (%d)", response.StatusCode)
	case int64(len(content)) > limit:
		return nil, errors.New("file is larger than the limit")
	}
	return content, nil
}

// ours says whether an address is the platform's: of the API's own host, or of
// those that it keeps files on.
func (a *Adapter) ours(address string) bool {
	u, err := url.Parse(address)
	api, apiErr := url.Parse(a.options.API)
	if err != nil || apiErr != nil || bot.CheckServer(address, "https", "http") != nil {
		return false
	}
	files := []string{"cdn.discordapp.com", "media.discordapp.net"}
	return u.Host == api.Host || api.Host == "discord.com" && (u.Host == files[0] || u.Host == files[1])
}
