// Program site writes the phone's page as a static site, and can serve it on this machine. It has to
// run in the module's folder, since it builds the model from the sources.
package main

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"time"

	"github.com/spf13/cobra"
)

func main() {
	var serve string
	c := &cobra.Command{
		Use: "site FOLDER", Short: "Write the phone's page as a static site",
		Long: "site writes a folder of files that any host of static files can serve over https: the logbook for a phone, which works\n" +
			"without a network once it has been opened. Of a site that is there already, what was replaced more than a day ago goes.\n" +
			"--serve gives the folder out on this machine, to try it.",
		Example: "  go run ./cmd/site public\n  go run ./cmd/site --serve localhost:8000 public",
		Args:    cobra.ExactArgs(1), SilenceUsage: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := write(args[0]); err != nil {
				return err
			}
			if serve == "" {
				fmt.Fprintf(cmd.OutOrStdout(), "%s written; next: put its files on a host of static files, or try it with --serve localhost:8000\n", args[0])
				return nil
			}
			return serveFolder(cmd.OutOrStdout(), args[0], serve)
		},
	}
	c.Flags().StringVar(&serve, "serve", "", "serve the folder on this address, as localhost:8000, until it is stopped")
	if c.Execute() != nil {
		os.Exit(1)
	}
}

// serveFolder serves a folder on an address of this machine, until the program is stopped.
func serveFolder(w io.Writer, folder, address string) error {
	at, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "http://%s serves %s; ctrl-C stops it\n", at.Addr(), folder)
	server := &http.Server{Handler: http.FileServer(http.Dir(folder)), ReadHeaderTimeout: 10 * time.Second}
	return server.Serve(at)
}
