// Package web is what stands between a network and the farm's pages: TLS, passwords and client
// certificates by the web settings file, time limits, bounds, headers, and who may give orders.
//
// The web settings file is that of Prometheus exporters, documented as "web configuration" by
// exporter-toolkit; it is read again for each request and connection, so a new certificate or
// password needs no restart. Not here: what the pages show, and orders given at the board itself,
// which go over package hand.
//
// It always holds that a request is bounded in bytes and time, that connections are bounded in
// number, so that no flood takes the file descriptors which the farm's devices need, and that
// nothing changes the farm but a POST to /hand by an authenticated person the settings name, over TLS.
package web
