package door_test

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"
)

// wedgeSpread is the spread force each side per drive force of a symmetric wedge
// with this half angle in degrees and friction: Q/P = 1 / (2 tan(a + f)), where
// friction = tan f (Machinery's Handbook, wedge with friction, as reproduced;
// secondary text).
func wedgeSpread(degrees, friction float64) float64 {
	return 1 / (2 * math.Tan(degrees*math.Pi/180+math.Atan(friction)))
}

func TestWedgeFigures(t *testing.T) {
	// Arithmetic from the formula above.
	for friction, want := range map[float64][3]float64{
		0.2: {2.03, 1.71, 1.28},
		0.4: {1.11, 0.99, 0.81},
		0.6: {0.76, 0.69, 0.58},
	} {
		for i, degrees := range []float64{2.5, 5, 10} {
			if got := wedgeSpread(degrees, friction); math.Abs(got-want[i]) > 0.00501 {
				t.Errorf("%g degrees, friction %g: %.3f, want %.2f", degrees, friction, got, want[i])
			}
		}
	}
}

func TestSteelWedgeCardFigures(t *testing.T) {
	card, err := os.ReadFile("../../knowledge/cards/steel-wedge.md")
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`([\d.]+) degrees each side, spreads ([\d.]+) times the drive at friction ([\d.]+), but ([\d.]+) times at ([\d.]+)`).FindSubmatch(card)
	if line == nil {
		t.Skip("the card gives no spread figures")
	}
	var n [6]float64
	for i := 1; i < len(line); i++ {
		if n[i], err = strconv.ParseFloat(string(line[i]), 64); err != nil {
			t.Fatal(err)
		}
	}
	for _, pair := range [][2]float64{{n[2], n[3]}, {n[4], n[5]}} {
		if got := wedgeSpread(n[1], pair[1]); math.Abs(got-pair[0]) > 0.00501 {
			t.Errorf("the card says %g at friction %g, the formula %.3f", pair[0], pair[1], got)
		}
	}
}

func TestLeverFigure(t *testing.T) {
	// Class 1 lever: effort x effort arm = load x load arm (encyclopaedia, secondary
	// text). The bar's card gives 5 times the arm, 5 times the force.
	card, err := os.ReadFile("../../knowledge/cards/pry-bar-short.md")
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`effort arm (\d+) times the load arm gives (\d+) times the force`).FindSubmatch(card)
	if line == nil {
		t.Skip("the card gives no lever figure")
	}
	if string(line[1]) != string(line[2]) {
		t.Errorf("an arm %s times as long gives %s times the force", line[1], line[2])
	}
}
