package postgres

import (
	"os"
	"os/exec"
	"slices"
	"testing"
)

func TestChildrenAreFound(t *testing.T) {
	cmd := exec.CommandContext(t.Context(), "cat")
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if got := children(os.Getpid()); !slices.Contains(got, cmd.Process.Pid) {
		t.Errorf("children %v, want %d among them", got, cmd.Process.Pid)
	}
	in.Close()
	if err := cmd.Wait(); err != nil {
		t.Error(err)
	}
	if got := children(os.Getpid()); slices.Contains(got, cmd.Process.Pid) {
		t.Errorf("children %v, want %d gone from them", got, cmd.Process.Pid)
	}
}
