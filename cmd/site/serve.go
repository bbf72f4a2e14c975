package main

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"time"
)

// serveFolder serves a folder on an address of this machine until the program is
// stopped.
func serveFolder(w io.Writer, folder, address string) error {
	at, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "http://%s serves %s; ctrl-C stops it\n", at.Addr(), folder)
	server := &http.Server{Handler: http.FileServer(http.Dir(folder)), ReadHeaderTimeout: 10 * time.Second}
	return server.Serve(at)
}
