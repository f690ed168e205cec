package auth

import "io/fs"

// ours reports whether the permissions of a file say anything here; they do not.
func ours(string, fs.FileInfo) bool { return false }
