package console

import (
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// album keeps the pictures as files, one for each scene. It is safe for several
// goroutines.
type album struct {
	draw func(scene string) ([]byte, error)

	mu  sync.Mutex
	dir string // empty until there is one
}

// save draws a scene and returns its file, or "" when nothing can be drawn.
func (a *album) save(scene string) (string, error) {
	if a.draw == nil {
		return "", nil
	}
	png, err := a.draw(scene)
	if err != nil {
		return "", fmt.Errorf("draw scene: %w", err)
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if err := a.makeDir(); err != nil {
		return "", fmt.Errorf("make folder for pictures: %w", err)
	}
	file := filepath.Join(a.dir, fileName(scene))
	if err := os.WriteFile(file, png, 0o644); err != nil {
		return "", fmt.Errorf("save picture: %w", err)
	}
	return file, nil
}

// makeDir must be called with mu held.
func (a *album) makeDir() (err error) {
	if a.dir == "" {
		a.dir, err = os.MkdirTemp("", "kitbell-pictures-")
		return err
	}
	return os.MkdirAll(a.dir, 0o755)
}

// fileName makes a file's name of a scene's key, whatever is in it: a part that
// can be read, and a sum that keeps like keys apart.
func fileName(scene string) string {
	const longest = 60
	readable := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(scene))
	readable = readable[:min(len(readable), longest)]
	return fmt.Sprintf("%s-%08x.png", readable, crc32.ChecksumIEEE([]byte(scene)))
}
