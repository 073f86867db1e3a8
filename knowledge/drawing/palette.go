package drawing

import "image/color"

// palette holds the colours of one ground. Contrast is checked by a test
// against WCAG 2.1: 7 to 1 for text, 3 to 1 for whatever must be told apart.
type palette struct {
	ground, ink, quiet color.RGBA // quiet: hatching and thin lines
	frame, door, glass color.RGBA
	plate, steel, pin  color.RGBA
	tool               color.RGBA
	motion             color.RGBA
}

func rgb(hex uint32) color.RGBA {
	return color.RGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

func (o Options) palette() palette {
	if o.Dark {
		return palette{
			ground: rgb(0x12161c), ink: rgb(0xf4f6f8), quiet: rgb(0x8c98a6),
			frame: rgb(0x2c3540), door: rgb(0x453a2a), glass: rgb(0x1f3f4a),
			plate: rgb(0x5d6b7a), steel: rgb(0xd5dce3), pin: rgb(0x5ab4ff),
			tool: rgb(0xff9a3d), motion: rgb(0x7fe0a0),
		}
	}
	return palette{
		ground: rgb(0xffffff), ink: rgb(0x15191e), quiet: rgb(0x6c7784),
		frame: rgb(0xdde2e8), door: rgb(0xf5e8cf), glass: rgb(0xd5eef5),
		plate: rgb(0xa9b4c0), steel: rgb(0x3a434d), pin: rgb(0x0b62c4),
		tool: rgb(0xd9480f), motion: rgb(0x0d7040),
	}
}

// style is how a look is painted. Zero colours are left out.
type style struct {
	fill, stroke color.RGBA
	width        float64
	casing       float64 // a wider line of ink below, so that a rod has edges
	halo         float64 // the same in the colour of the ground
	dash         []float64
	hatch        []hatching
	head         bool
}

// hatching fills a shape with parallel lines, at an angle in degrees.
type hatching struct{ angle, spacing float64 }

func (c palette) style(l look) style {
	switch l {
	case lookFrame:
		return style{fill: c.frame, stroke: c.ink, width: 1.6, hatch: []hatching{{45, 8}}}
	case lookDoor:
		return style{fill: c.door, stroke: c.ink, width: 1.6, hatch: []hatching{{0, 20}}}
	case lookGlass:
		return style{fill: c.glass, stroke: c.ink, width: 1.2, hatch: []hatching{{60, 22}}}
	case lookPlate:
		return style{fill: c.plate, stroke: c.ink, width: 1.4, hatch: []hatching{{135, 5}}}
	case lookSteel:
		return style{fill: c.steel, stroke: c.ink, width: 1.2}
	case lookVoid:
		return style{fill: c.ground, stroke: c.quiet, width: 1}
	case lookPin:
		return style{fill: c.pin, stroke: c.ink, width: 1.4, hatch: []hatching{{90, 4}}}
	case lookTool:
		return style{fill: c.tool, stroke: c.ink, width: 1.6}
	case lookGhost:
		return style{stroke: c.ink, width: 1.4, dash: []float64{4, 3}}
	case lookRod:
		return style{stroke: c.tool, width: 4, casing: 2.4}
	case lookPath:
		return style{stroke: c.tool, width: 4, casing: 2.4, head: true}
	case lookMotion:
		return style{stroke: c.motion, width: 2.6, halo: 3, dash: []float64{6, 4}, head: true}
	}
	return style{stroke: c.ink, width: 1.6}
}
