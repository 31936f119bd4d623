package bc
import ("testing";"fmt";"golang.org/x/crypto/bcrypt")
func TestX(t *testing.T){ for _,p:=range []string{"mulch-and-frost","scrape-only"} { h,_:=bcrypt.GenerateFromPassword([]byte(p),4); fmt.Println(p,string(h)) } }
