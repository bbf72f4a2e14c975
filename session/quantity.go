package session

import "sagline/session/quantity"

// QuantityOf is the reading that a column's name stands for; false for a
// column that is not a reading of its own.
func QuantityOf(column string) (quantity.Quantity, bool) {
	c, ok := Find(column)
	if !ok {
		return 0, false
	}
	return readingOf(c.Quantity)
}

// readingOf is the reading that a quantity of the table of columns is: those
// are named after their first column.
func readingOf(name string) (quantity.Quantity, bool) {
	for q := range quantity.Count {
		if q.String() == name {
			return q, true
		}
	}
	return 0, false
}
