package drawing

import "math"

// motions draws what the door does: its swing, and what the crew does to it.
func (p plan) motions() {
	y, out := p.crewFace()
	s := p.scene
	switch s.Push {
	case PushDoor:
		p.line(lookPath, 5, 3.1, y+out*1.25, 3.1, y+out*0.1)
		p.write("push", "push the door in", 3.1, y+out*0.9)
	case PullDoor:
		p.line(lookPath, 5, 3.1, y+out*0.1, 3.1, y+out*1.25)
		p.write("push", "pull the door", 3.1, y+out*0.6)
	case EaseShut:
		p.line(lookPath, 5, 3.1, y-out*1, 3.1, y-out*0.05)
		p.line(lookMotion, 0, 3.6, y, 3.6, y+out*1.2)
		p.write("push", "ease it almost shut", 3.6, y+out*0.9)
	case SpreadGap:
		p.line(lookMotion, 0, p.gap+0.5, -0.25, p.gap+1.4, -0.25)
		p.line(lookMotion, 0, -0.4, -0.25, -1.3, -0.25)
		p.write("push", "make the gap wider", p.gap+0.9, -0.25)
	}
	if s.Push == NoPush && !s.HasTool(DoorStrap) && p.ajar == 0 {
		p.swing()
	}
}

// swing shows which way the door opens: always toward its pull face.
func (p plan) swing() {
	text := "opens toward you"
	if p.scene.Swing == In {
		text = "opens away from you"
	}
	p.arc(lookMotion, planRight+1.6, 0.4, 2.1, math.Pi*1.02, math.Pi*1.24)
	p.write("swing", text, 3.85, -0.9)
}
