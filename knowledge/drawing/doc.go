// Package drawing draws the situation at a door: the frame, the latch, the
// plate over it, the tool and the way the tool moves. A card describes its
// drawing in a few lines of YAML; real dimensions are in this package, so a
// card holds no coordinates.
//
//	scene, err := drawing.Parse(card.Drawing)
//	picture, err := scene.PNG(drawing.Options{Width: 390, Dark: true})
//	words := scene.Alt() // the same scene for somebody who cannot see it
//
// [ForDoor] makes the scene of one particular door. SVG and PNG come from the
// same shapes. A drawing reads at the width of a phone, and never tells
// something by colour alone: materials differ by hatching, parts carry labels.
//
// The package knows nothing about cards, plans or where a picture is sent, and
// it does not draw floor plans or charts.
package drawing
