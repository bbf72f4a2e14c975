// Command sagline tells people who run a small tethered vehicle what its
// readings should be, which loss explains what they were, and what is
// drifting from dive to dive.
package main

import "os"

func main() { os.Exit(Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
