// Package bill holds what a grower types in from paper, the electricity meter's bills and the fills of
// the fuel tank, against the account of the same time.
//
// What is typed is kept in one file of the state directory. The account itself, and what is printed, are
// elsewhere. It always holds that a bill is compared only with its own days.
package bill
