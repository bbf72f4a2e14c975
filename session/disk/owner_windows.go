package disk

import "io/fs"

// copyOwner does nothing: on Windows a new file has the permissions of its folder, as the old one
// had.
func copyOwner(string, fs.FileInfo) error { return nil }
