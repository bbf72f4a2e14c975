package main

import "github.com/spf13/cobra"

func newNew() *cobra.Command  { return &cobra.Command{Use: "new"} }
func newPlot() *cobra.Command { return &cobra.Command{Use: "plot"} }
func newDemo() *cobra.Command { return &cobra.Command{Use: "demo"} }
