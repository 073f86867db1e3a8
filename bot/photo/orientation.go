package photo

import (
	"bytes"
	"encoding/binary"
)

// Marks of the formats (documentation: ITU-T T.81 for JPEG's segments, CIPA
// DC-008 "Exif" for what an APP1 segment holds).
const (
	startOfImage    = 0xD8
	startOfScan     = 0xDA
	exifSegment     = 0xE1
	orientationTag  = 274
	entrySize       = 12
	mostDirEntries  = 512
	littleEndian    = "II*\x00"
	bigEndian       = "MM\x00*"
	exifHeaderWords = "Exif\x00\x00"
)

// orientationOf reads how a JPEG's camera was held, from 1 to 8; 0 when it does
// not say. Cameras store the pixels as the sensor had them, so a picture whose
// data is thrown away would lie on its side.
func orientationOf(raw []byte) int {
	if len(raw) < 4 || raw[0] != 0xFF || raw[1] != startOfImage {
		return 0
	}
	for rest := raw[2:]; len(rest) >= 4 && rest[0] == 0xFF && rest[1] != startOfScan; {
		size := int(binary.BigEndian.Uint16(rest[2:])) // with its own two bytes
		if size < 2 || len(rest) < 2+size {
			return 0
		}
		if exif, ok := bytes.CutPrefix(rest[4:2+size], []byte(exifHeaderWords)); ok && rest[1] == exifSegment {
			return orientationIn(exif)
		}
		rest = rest[2+size:]
	}
	return 0
}

// orientationIn finds the orientation in the first directory of Exif data.
func orientationIn(exif []byte) int {
	if len(exif) < 8 {
		return 0
	}
	var order binary.ByteOrder
	switch string(exif[:4]) {
	case littleEndian:
		order = binary.LittleEndian
	case bigEndian:
		order = binary.BigEndian
	default:
		return 0
	}
	at := uint64(order.Uint32(exif[4:]))
	if at+2 > uint64(len(exif)) {
		return 0
	}
	dir := exif[at:]
	count := min(int(order.Uint16(dir)), mostDirEntries)
	dir = dir[2:]
	for i := 0; i < count && len(dir) >= entrySize; i++ {
		if order.Uint16(dir) == orientationTag {
			return int(order.Uint16(dir[8:]))
		}
		dir = dir[entrySize:]
	}
	return 0
}
