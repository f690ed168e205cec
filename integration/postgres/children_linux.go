package postgres

import (
	"bytes"
	"os"
	"strconv"
)

// children gives the processes that a process started and that run, see
// proc(5).
func children(parent int) (pids []int) {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	for _, e := range entries {
		pid, err := strconv.Atoi(e.Name())
		if err != nil {
			continue
		}
		text, err := os.ReadFile("/proc/" + e.Name() + "/stat")
		if err != nil {
			continue // ended meanwhile
		}
		// The name, in parentheses, may hold anything; state and parent follow.
		fields := bytes.Fields(text[bytes.LastIndexByte(text, ')')+1:])
		if len(fields) > 1 && string(fields[1]) == strconv.Itoa(parent) {
			pids = append(pids, pid)
		}
	}
	return pids
}
