package photo_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"

	"kitbell/bot/photo"
)

// hidden stands in for whatever a picture carries beside its pixels.
const hidden = "HIDDEN-PLACE-AND-TIME"

// corner is a picture that is white but for its top left quarter.
func corner(w, h int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.White)
			if x < w/2 && y < h/2 {
				m.Set(x, y, color.Black)
			}
		}
	}
	return m
}

// withExif puts an APP1 segment with an orientation and hidden words into a
// JPEG, and more words into a comment and behind the end.
func withExif(t *testing.T, m image.Image, order binary.AppendByteOrder, orientation uint16) []byte {
	t.Helper()
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	exif := []byte("Exif\x00\x00II*\x00")
	if order == binary.AppendByteOrder(binary.BigEndian) {
		exif = []byte("Exif\x00\x00MM\x00*")
	}
	exif = order.AppendUint32(exif, 8)
	exif = order.AppendUint16(exif, 2) // entries: camera's maker, orientation
	exif = order.AppendUint32(order.AppendUint16(order.AppendUint16(exif, 271), 2), uint32(len(hidden)))
	exif = order.AppendUint32(exif, 8+2+2*12)
	exif = order.AppendUint32(order.AppendUint16(order.AppendUint16(exif, 274), 3), 1)
	exif = order.AppendUint16(order.AppendUint16(exif, orientation), 0)
	exif = append(exif, hidden...)
	segment := func(mark byte, body []byte) []byte {
		return append(binary.BigEndian.AppendUint16([]byte{0xFF, mark}, uint16(len(body)+2)), body...)
	}
	raw := append([]byte{}, plain.Bytes()[:2]...)
	raw = append(raw, segment(0xE1, exif)...)
	raw = append(raw, segment(0xFE, []byte(hidden))...)
	return append(append(raw, plain.Bytes()[2:]...), hidden...)
}

// withText puts a text chunk into a PNG.
func withText(t *testing.T, m image.Image) []byte {
	t.Helper()
	var plain bytes.Buffer
	if err := png.Encode(&plain, m); err != nil {
		t.Fatal(err)
	}
	body := []byte("tEXtComment\x00" + hidden)
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)-4))
	chunk = append(chunk, body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(body))
	const header = 8 + 25 // signature and IHDR
	return append(append(append([]byte{}, plain.Bytes()[:header]...), chunk...), plain.Bytes()[header:]...)
}

func clean(t *testing.T, raw []byte) ([]byte, image.Image) {
	t.Helper()
	out, err := photo.Clean(raw)
	if err != nil {
		t.Fatal(err)
	}
	m, err := jpeg.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	return out, m
}

// Nothing but the pixels is kept.
func TestHiddenDataIsGone(t *testing.T) {
	for name, raw := range map[string][]byte{
		"a JPEG with Exif, a comment and words behind it": withExif(t, corner(64, 48), binary.LittleEndian, 1),
		"a PNG with text": withText(t, corner(64, 48)),
	} {
		if !bytes.Contains(raw, []byte(hidden)) {
			t.Fatalf("%s: the test hides nothing", name)
		}
		out, m := clean(t, raw)
		if bytes.Contains(out, []byte(hidden)) || bytes.Contains(out, []byte("Exif")) || bytes.Contains(out, []byte("tEXt")) {
			t.Errorf("%s: hidden data was kept", name)
		}
		if m.Bounds().Dx() != 64 || m.Bounds().Dy() != 48 {
			t.Errorf("%s: %v", name, m.Bounds())
		}
	}
}

// A picture stands upright, however the camera was held. Where the dark corner
// comes out is from CIPA DC-008 "Exif", tag 274.
func TestOrientation(t *testing.T) {
	const left, right, top, bottom = false, true, false, true
	for orientation, want := range map[uint16]struct {
		right, bottom, turned bool
	}{
		0: {left, top, false}, 1: {left, top, false}, 2: {right, top, false}, 3: {right, bottom, false}, 4: {left, bottom, false},
		5: {left, top, true}, 6: {right, top, true}, 7: {right, bottom, true}, 8: {left, bottom, true}, 9: {left, top, false},
	} {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			_, m := clean(t, withExif(t, corner(64, 32), order, orientation))
			w, h := m.Bounds().Dx(), m.Bounds().Dy()
			if turned := h > w; turned != want.turned {
				t.Errorf("%d: %d by %d", orientation, w, h)
			}
			for _, at := range []struct{ right, bottom bool }{{left, top}, {right, top}, {left, bottom}, {right, bottom}} {
				x, y := w/4, h/4
				if at.right {
					x = 3 * w / 4
				}
				if at.bottom {
					y = 3 * h / 4
				}
				gray := color.GrayModel.Convert(m.At(x, y)).(color.Gray).Y
				if dark := gray < 128; dark != (at.right == want.right && at.bottom == want.bottom) {
					t.Errorf("%d (%v): right %v, bottom %v: %d", orientation, order, at.right, at.bottom, gray)
				}
			}
		}
	}
}

// A big picture becomes a small one of the same shape.
func TestShrinks(t *testing.T) {
	var raw bytes.Buffer
	if err := jpeg.Encode(&raw, corner(3000, 1500), nil); err != nil {
		t.Fatal(err)
	}
	out, m := clean(t, raw.Bytes())
	if m.Bounds().Dx() != photo.LongEdge || m.Bounds().Dy() != photo.LongEdge/2 || len(out) > photo.MaxKept {
		t.Errorf("%v, %d bytes", m.Bounds(), len(out))
	}
}

// pngOfSize is the head of a PNG that claims a size and holds nothing.
func pngOfSize(t *testing.T, w, h uint32) []byte {
	t.Helper()
	var raw bytes.Buffer
	if err := png.Encode(&raw, corner(2, 2)); err != nil {
		t.Fatal(err)
	}
	b := raw.Bytes()
	binary.BigEndian.PutUint32(b[16:], w)
	binary.BigEndian.PutUint32(b[20:], h)
	binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29]))
	return b
}

// What is too big or no picture is refused before it is decoded.
func TestRefused(t *testing.T) {
	jpegRaw := withExif(t, corner(64, 48), binary.LittleEndian, 1)
	for _, row := range []struct {
		name string
		raw  []byte
		want error
	}{
		{"nothing", nil, photo.ErrNoPicture},
		{"words", []byte("GIF89a and so on"), photo.ErrNoPicture},
		{"half a picture", jpegRaw[:len(jpegRaw)/2], photo.ErrNoPicture},
		{"a small file that claims to be huge", pngOfSize(t, 60000, 60000), photo.ErrTooBig},
		{"more bytes than are taken", make([]byte, photo.MaxBytes+1), photo.ErrTooBig},
	} {
		if _, err := photo.Clean(row.raw); !errors.Is(err, row.want) {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

// Whatever comes in, nothing breaks, and what comes out is a small picture.
func FuzzClean(f *testing.F) {
	f.Add([]byte("\xFF\xD8\xFF\xE1\x00\x10Exif\x00\x00II*\x00\xFF\xFF\xFF\xFF"))
	f.Add([]byte("\xFF\xD8\xFF\xE1\x00\x02"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) > 1<<16 {
			return
		}
		if config, _, err := image.DecodeConfig(bytes.NewReader(raw)); err == nil && config.Width*config.Height > 1<<20 {
			return // true of size, and slow
		}
		out, err := photo.Clean(raw)
		if err != nil {
			return
		}
		if config, err := jpeg.DecodeConfig(bytes.NewReader(out)); err != nil || max(config.Width, config.Height) > photo.LongEdge {
			t.Errorf("%v, %v", config, err)
		}
	})
}
