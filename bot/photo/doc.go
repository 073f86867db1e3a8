// Package photo makes a picture that somebody sent fit to be kept: small,
// upright, and without anything but its pixels. Where it was taken, when, by
// what, thumbnails, comments and whatever stands behind the picture are gone,
// because the pixels are decoded and encoded anew.
//
// The smallest use:
//
//	clean, err := photo.Clean(raw) // a JPEG of at most LongEdge pixels a side
//
// It does not look at what the picture shows: that is the promise of the person
// who presses "keep".
package photo
