package door

import "math"

// z95 is the 97.5 % point of the normal distribution.
const z95 = 1.959963984540054

// Wilson is the 95 % score interval of a proportion without continuity
// correction (Newcombe, Statistics in Medicine 17:857, 1998, method 3). With no
// trials it is the whole range.
func Wilson(successes, trials int) (low, high float64) {
	if trials <= 0 {
		return 0, 1
	}
	n := float64(trials)
	p := float64(successes) / n
	centre := p + z95*z95/(2*n)
	half := z95 * math.Sqrt(p*(1-p)/n+z95*z95/(4*n*n))
	scale := 1 + z95*z95/n
	return max(0, (centre-half)/scale), min(1, (centre+half)/scale)
}

// Jeffreys is the 95 % equal-tailed interval of Beta(x+1/2, n-x+1/2), closed at
// 0 when nothing and at 1 when everything succeeded (Brown, Cai, DasGupta,
// Statistical Science 16:101, 2001, 4.1.2).
func Jeffreys(successes, trials int) (low, high float64) {
	x, n := float64(successes), float64(trials)
	low, high = 0, 1
	if successes > 0 {
		low = betaQuantile(0.025, x+0.5, n-x+0.5)
	}
	if successes < trials {
		high = betaQuantile(0.975, x+0.5, n-x+0.5)
	}
	return low, high
}

// Interval is the 95 % equal-tailed interval of a chance with these counts.
func (c Counts) Interval() (low, high float64) { return spreadOf(c.Mean(), c.Variance()) }

// spreadOf is the 95 % equal-tailed interval of the Beta distribution with this
// mean and variance.
func spreadOf(mean, variance float64) (low, high float64) {
	if variance <= 0 || mean <= 0 || mean >= 1 {
		return mean, mean
	}
	n := mean*(1-mean)/variance - 1
	if n <= 0 {
		return 0, 1
	}
	a, b := mean*n, (1-mean)*n
	return betaQuantile(0.025, a, b), betaQuantile(0.975, a, b)
}

// betaQuantile inverts the Beta distribution by halving; 60 halvings are past
// the accuracy of the sum it inverts.
func betaQuantile(p, a, b float64) float64 {
	low, high := 0.0, 1.0
	for range 60 {
		middle := (low + high) / 2
		if betaCumulative(middle, a, b) < p {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// betaCumulative is the regularised incomplete beta function by its continued
// fraction (NIST Digital Library of Mathematical Functions, 8.17.22), turned
// round where that converges faster.
func betaCumulative(x, a, b float64) float64 {
	if x <= 0 {
		return 0
	}
	if x >= 1 {
		return 1
	}
	if x > (a+1)/(a+b+2) {
		return 1 - betaCumulative(1-x, b, a)
	}
	front := math.Exp(a*math.Log(x) + b*math.Log1p(-x) - logBeta(a, b))
	return front / a / betaFraction(x, a, b)
}

func logBeta(a, b float64) float64 {
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	return la + lb - lab
}

// betaFraction sums 1 + d1/(1 + d2/(1 + ...)) by Lentz's method.
func betaFraction(x, a, b float64) float64 {
	const tiny, enough = 1e-300, 1e-15
	value, c, d := 1.0, 1.0, 0.0
	for i := 1; i <= 500; i++ {
		m := float64(i / 2)
		term := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		if i%2 == 0 {
			term = m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		}
		d = 1 / nonZero(1+term*d, tiny)
		c = nonZero(1+term/c, tiny)
		value *= c * d
		if math.Abs(c*d-1) < enough {
			break
		}
	}
	return value
}

func nonZero(value, tiny float64) float64 {
	if math.Abs(value) < tiny {
		return tiny
	}
	return value
}
