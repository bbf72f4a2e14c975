package predict

import "math"

// Combinations are the drives worth knowing: everything off, each thruster
// alone, the surge thrusters together ahead and astern, the heave thrusters
// up and down.
func (m *Model) Combinations() [][]int8 {
	n := len(m.motors)
	out := [][]int8{make([]int8, n)}
	for i := range n {
		one := make([]int8, n)
		one[i] = 1
		out = append(out, one)
	}
	for _, sign := range []int8{1, -1} {
		for _, surge := range []bool{true, false} {
			all, count := make([]int8, n), 0
			for i := range n {
				if m.motors[i].surge == surge {
					all[i] = sign
					count++
				}
			}
			if count > 1 || (count == 1 && sign < 0) {
				out = append(out, all)
			}
		}
	}
	return out
}

// DragAreaM2 is the drag area of hull and tether in m² under a condition.
func (m *Model) DragAreaM2(c *Condition, p Params) float64 { return m.prepare(c, p).area }

// Push is the surge and heave thrust in N, without sign, of thrusters that
// hold the vehicle still in water that flows past at speed m/s.
func (m *Model) Push(c *Condition, p Params, speed float64) (surgeN, heaveN float64) {
	ln := m.prepare(c, p)
	m.circuit(&ln, speed, 0)
	return math.Abs(m.sum(true, thrustOf)), math.Abs(m.sum(false, thrustOf))
}
