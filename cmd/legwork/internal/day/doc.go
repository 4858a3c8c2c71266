// Package day understands a meter's last day, as a server with history keeps it
// for the desk, and draws it: the power of each channel, where readings are
// missing, and the verdict with its changes.
//
// The day is cut into steps. A step has the mean power of each channel, or none:
// what wasn't recorded is left out, never drawn on. Series of one desk belong
// together; several desks may have read the meter, one after another. Whether a
// series is of this meter is told by the site beside its name, and whether two
// desks read one meter by what they read while both did. Times are those of the
// readings, wherever the server's clock stands.
package day
