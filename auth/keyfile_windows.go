package auth

import "io/fs"

// ours reports whether the permissions of a file say anything here; they do not.
func ours(string, fs.FileInfo) bool { return false }

// giveTo does nothing: a new file is its folder's to give.
func giveTo(string, fs.FileInfo) {}
