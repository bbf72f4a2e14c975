package main

import "runtime"

// parallel does n tasks side by side on all cores and hands the results on in
// order. No more than one a core and one besides are begun and not yet handed
// on, so that memory does not grow with n. It ends at emit's first error.
func parallel[T any](n int, do func(i int) T, emit func(T) error) error {
	ahead := runtime.GOMAXPROCS(0) + 1
	slots := make([]chan T, ahead)
	begin := func(i int) {
		if i < n {
			go func() { slots[i%ahead] <- do(i) }()
		}
	}
	for i := range slots {
		slots[i] = make(chan T, 1) // a task left alone at an error ends too
		begin(i)
	}
	for i := range n {
		if err := emit(<-slots[i%ahead]); err != nil {
			return err
		}
		begin(i + ahead)
	}
	return nil
}
