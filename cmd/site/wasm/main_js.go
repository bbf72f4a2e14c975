// Program wasm makes package calls available to the page in a browser; with the build tag pages, also
// the calls that make pages. One logbook is shown at a time, and calls come one after the other.
package main

import (
	"syscall/js"

	"sagline/cmd/site/calls"
)

// main passes to the page's saglineReady a function call(name, arguments, ...files) that returns
// [answer, ...files]. Texts are strings, files are bytes.
func main() {
	var book calls.Logbook
	call := js.FuncOf(func(_ js.Value, args []js.Value) any {
		files := make([]string, len(args)-2)
		for i, file := range args[2:] {
			bytes := make([]byte, file.Length())
			js.CopyBytesToGo(bytes, file)
			files[i] = string(bytes)
		}
		answer, out := book.Call(args[0].String(), args[1].String(), files...)
		all := []any{answer}
		for _, file := range out {
			bytes := js.Global().Get("Uint8Array").New(len(file))
			js.CopyBytesToJS(bytes, []byte(file))
			all = append(all, bytes)
		}
		return all
	})
	js.Global().Call("saglineReady", call)
	select {}
}
