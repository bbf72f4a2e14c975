package steady

// mostLagged bounds the work on correlations: longer series are first averaged
// in batches.
const mostLagged = 2000

// effective is how many independent samples would give a mean as good as that
// of x: n over the sum of all correlations, the sum ended where two
// neighbouring ones add up to nothing any more (Geyer's initial positive
// sequence, Statistical Science 7, 1992). It is at least 1 and at most n.
func effective(x []float64) float64 {
	n := float64(len(x))
	if len(x) < 4 {
		return n
	}
	_, sd := meanSD(x)
	if sd == 0 {
		return n
	}
	y := x
	if batch := (len(x) + mostLagged - 1) / mostLagged; batch > 1 {
		y = batches(x, batch)
	}
	mean, sdY := meanSD(y)
	if sdY == 0 {
		return n
	}
	tau := -1.0 // of y; becomes the sum of the correlations at all lags
	for lag := 0; lag+1 < len(y)/2; lag += 2 {
		pair := correlation(y, mean, sdY, lag) + correlation(y, mean, sdY, lag+1)
		if pair <= 0 {
			break
		}
		tau += 2 * pair
	}
	tau = max(tau, 1/float64(len(y)))
	// The mean's variance is that of a batch times tau over how many there are.
	worth := sd * sd / (sdY * sdY * tau / float64(len(y)))
	return max(1, min(n, worth))
}

// batches are means of each so many values; a rest too short is left out.
func batches(x []float64, each int) []float64 {
	out := make([]float64, 0, len(x)/each)
	for i := 0; i+each <= len(x); i += each {
		m, _ := meanSD(x[i : i+each])
		out = append(out, m)
	}
	return out
}

func correlation(x []float64, mean, sd float64, lag int) float64 {
	sum := 0.0
	for i := lag; i < len(x); i++ {
		sum += (x[i] - mean) * (x[i-lag] - mean)
	}
	return sum / (float64(len(x)-1) * sd * sd)
}
