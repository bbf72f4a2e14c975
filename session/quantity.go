package session

import "sagline/session/quantity"

// QuantityOf is the reading that a column's name stands for; false for a
// column that is not a reading of its own.
func QuantityOf(column string) (quantity.Quantity, bool) {
	c, ok := Find(column)
	if !ok {
		return 0, false
	}
	for q, name := range quantityNames {
		if name == c.Quantity {
			return quantity.Quantity(q), true
		}
	}
	return 0, false
}
