// Package atlas tells what is known of any place on earth without asking
// anyone. It reads nothing but what is built into it.
package atlas
