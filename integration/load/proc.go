//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// tick is the unit of /proc/PID/stat: USER_HZ is 100 on every machine that Go
// runs on.
const tick = 10 * time.Millisecond

// stat are the fields of /proc/PID/stat that matter here, see proc(5).
type stat struct {
	parent   int
	own      time.Duration // user and system
	children time.Duration // of children that have ended and were waited for
}

func parseStat(text string) (s stat, err error) {
	// The name, in parentheses, may hold anything.
	end := strings.LastIndexByte(text, ')')
	if end < 0 {
		return s, errors.New("no name")
	}
	fields := strings.Fields(text[end+1:])
	if len(fields) < 15 {
		return s, fmt.Errorf("%d fields", len(fields))
	}
	var ticks [4]int64
	for i := range ticks {
		if ticks[i], err = strconv.ParseInt(fields[11+i], 10, 64); err != nil {
			return s, err
		}
	}
	s.parent, err = strconv.Atoi(fields[1])
	s.own = time.Duration(ticks[0]+ticks[1]) * tick
	s.children = time.Duration(ticks[2]+ticks[3]) * tick
	return s, err
}

// diskBytes is what this process has caused to be written to disk, see proc(5).
func diskBytes() (int64, error) {
	text, err := os.ReadFile("/proc/self/io")
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(string(text)) {
		if n, ok := strings.CutPrefix(line, "write_bytes: "); ok {
			return strconv.ParseInt(strings.TrimSpace(n), 10, 64)
		}
	}
	return 0, errors.New("no write_bytes in /proc/self/io")
}

func statOf(pid int) (stat, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return stat{}, err
	}
	return parseStat(string(text))
}

// ran is the time that a process of one thread has run, to the nanosecond where
// the kernel tells that, else to the tick.
func ran(pid int, s stat) time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/schedstat", pid))
	if err != nil {
		return s.own
	}
	first, _, _ := strings.Cut(string(text), " ")
	n, err := strconv.ParseInt(first, 10, 64)
	if err != nil {
		return s.own
	}
	return time.Duration(n)
}

// treeCPU is the processor time of a process and its children, those that have
// ended included.
func treeCPU(root int) (time.Duration, error) {
	s, err := statOf(root)
	if err != nil {
		return 0, err
	}
	sum := ran(root, s) + s.children
	paths, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		return 0, err
	}
	for _, path := range paths {
		pid, err := strconv.Atoi(filepath.Base(filepath.Dir(path)))
		if err != nil {
			return 0, err
		}
		child, err := statOf(pid)
		if errors.Is(err, fs.ErrNotExist) || err != nil && strings.Contains(err.Error(), "no such process") {
			continue // ended meanwhile
		}
		if err != nil {
			return 0, err
		}
		if child.parent == root {
			sum += ran(pid, child) + child.children
		}
	}
	return sum, nil
}

// firstProcess finds the process that the cluster's others descend from.
func firstProcess(ctx context.Context, database string) (int, error) {
	conn, err := pgx.Connect(ctx, database)
	if err != nil {
		return 0, err
	}
	defer conn.Close(ctx)
	var pid int
	if err := conn.QueryRow(ctx, "SELECT pg_backend_pid()").Scan(&pid); err != nil {
		return 0, err
	}
	s, err := statOf(pid)
	return s.parent, err
}
