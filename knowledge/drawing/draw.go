package drawing

import "errors"

// PNG draws the scene as a PNG image.
func (s Scene) PNG(o Options) ([]byte, error) { return nil, errors.New("draw scene: not built yet") }

// SVG draws the scene as an SVG document whose title and description are the
// scene's words.
func (s Scene) SVG(o Options) ([]byte, error) { return nil, errors.New("draw scene: not built yet") }

// Alt says in plain words what the drawing shows.
func (s Scene) Alt() string { return "" }
