package drawing

// sketchCard shows a card cut for room guards, laid flat: about a hand long and
// three fingers wide, the notch a thumb's width from its corner, slanted toward
// the hand.
func sketchCard(k *sketch) {
	const long, wide, corner = 7.0, 2.4, 0.3
	const notch, deep, across, slant = 1.0, 0.75, 0.3, 0.3
	k.polygon(lookTool, corner, 0, notch, 0, notch+slant, deep, notch+slant+across, deep, notch+across, 0,
		long-corner, 0, long, corner, long, wide-corner, long-corner, wide, corner, wide, 0, wide-corner, 0, corner)
	k.labelTool(NotchedCard, 4, wide*0.6)
	k.write("notch", "notch, as wide as the bar", notch+slant/2+across/2, deep/2)
	k.write("thumb", "a thumb's width", notch/2, 0)
	k.line(lookLine, 1.4, 0, -0.25, notch, -0.25)
	k.write("round", "round the corners", 0.05, wide-0.05)
	k.line(lookPath, 4, long+0.2, wide/2, long+1.3, wide/2)
	k.write("hand", "your hand", long-0.5, wide/2)
	k.line(lookLine, 1.4, 0, wide+0.3, long, wide+0.3)
	k.write("long", "about a hand long", long/2, wide+0.3)
}
