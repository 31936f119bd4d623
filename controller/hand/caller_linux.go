package hand

import (
	"net"
	"os/user"
	"strconv"
	"syscall"

	"loambank/controller"
)

// caller says who is at the other end of a unix socket, as the kernel knows it.
func caller(conn net.Conn) controller.Person {
	unknown := controller.Person{UID: -1}
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
	who := controller.Person{UID: int64(cred.Uid)}
	if u, err := user.LookupId(strconv.FormatInt(who.UID, 10)); err == nil {
		who.Name = u.Username
	}
	return who
}
