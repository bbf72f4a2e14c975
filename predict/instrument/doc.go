// Package instrument says how readings are compared with the model's predictions: on which scale,
// how far the instrument scatters, and in which steps its numbers were written down. It assumes
// independent normal errors on that scale, and rounding errors uniform over a step.
package instrument
