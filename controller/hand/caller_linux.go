package hand

import (
	"fmt"
	"net"
	"os/user"
	"strconv"
	"syscall"
)

// caller says who is at the other end of a unix socket, as the kernel knows it: the user's name
// and number.
func caller(conn net.Conn) string {
	const unknown = "unknown"
	c, ok := conn.(*net.UnixConn)
	if !ok {
		return unknown
	}
	raw, err := c.SyscallConn()
	if err != nil {
		return unknown
	}
	var cred *syscall.Ucred
	var asked error
	err = raw.Control(func(fd uintptr) {
		cred, asked = syscall.GetsockoptUcred(int(fd), syscall.SOL_SOCKET, syscall.SO_PEERCRED)
	})
	if err != nil || asked != nil {
		return unknown
	}
	uid := strconv.FormatUint(uint64(cred.Uid), 10)
	if u, err := user.LookupId(uid); err == nil {
		return fmt.Sprintf("%s (uid %s)", u.Username, uid)
	}
	return "uid " + uid
}
