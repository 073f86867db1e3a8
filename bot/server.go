package bot

import (
	"fmt"
	"net"
	"net/url"
)

// CheckServer says whether tokens may go to an address: over the safe scheme
// (https, wss) to any host, over the plain one (http, ws) to this very machine
// only. The error is for the one who wrote the address.
func CheckServer(address, safe, plain string) error {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" {
		return fmt.Errorf("%q is no address of a server", address)
	}
	ip := net.ParseIP(u.Hostname())
	here := u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
	if u.Scheme == safe || u.Scheme == plain && here {
		return nil
	}
	return fmt.Errorf("%q will not do: write %s://..., or %s://127.0.0.1 for a server on this machine", address, safe, plain)
}
