// Package instrument says how readings are held against what the model predicts: on which
// scale, how far the instrument scatters, and in which steps its numbers were written down. It
// assumes independent normal errors on that scale, and that what was rounded off is even
// over a step.
package instrument
