package main

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"time"
)

// give gives a folder out on an address of this machine until the program is
// stopped.
func give(w io.Writer, folder, address string) error {
	at, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "http://%s gives %s out; ctrl-C stops it\n", at.Addr(), folder)
	server := &http.Server{Handler: http.FileServer(http.Dir(folder)), ReadHeaderTimeout: 10 * time.Second}
	return server.Serve(at)
}
