package pgtest

import (
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"strconv"
	"syscall"
)

// quit makes the server end at once, and its own processes with it.
const quit = syscall.SIGQUIT

// humble makes a program end with the thread that starts it, and run as somebody
// who is not the administrator.
func humble(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: quit}
	if uid, gid, err := somebody(); err == nil && os.Geteuid() == 0 {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: uid, Gid: gid}
	}
}

// handOver gives a folder to whom humble runs programs as.
func handOver(folder string) error {
	if os.Geteuid() != 0 {
		return nil
	}
	uid, gid, err := somebody()
	if err != nil {
		return err
	}
	return os.Chown(folder, int(uid), int(gid))
}

// somebody is a user of this machine with few rights.
func somebody() (uid, gid uint32, err error) {
	for _, name := range []string{"postgres", "nobody"} {
		who, err := user.Lookup(name)
		if err != nil {
			continue
		}
		u, errU := strconv.ParseUint(who.Uid, 10, 32)
		g, errG := strconv.ParseUint(who.Gid, 10, 32)
		if errU == nil && errG == nil {
			return uint32(u), uint32(g), nil
		}
	}
	return 0, 0, fmt.Errorf("this machine has neither a user postgres nor nobody")
}
