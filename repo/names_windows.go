package repo

import "io/fs"

// names is how many names a file has; here nobody asks.
func names(fs.FileInfo) int { return 1 }
