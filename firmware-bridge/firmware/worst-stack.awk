# The deepest that the stack can get, from the pushes, frames and calls of the program itself:
#   avr-objdump -d kit.elf | awk -f worst-stack.awk
# A call through a pointer may reach every virtual function. An interrupt may come at the deepest point; handlers do not nest.
/^[0-9a-f]+ <.*>:$/ { at = $2; gsub(/[<>:]/, "", at); known[at] = 1; order[++count] = at; next }
/\tpush\t/ { pushes[at]++ }
/\t(r?call)\t/ && match($0, /<[^>+]+>/) { to = substr($0, RSTART + 1, RLENGTH - 2); calls[at] = calls[at] " " to }
/\t(r?jmp)\t/ && match($0, /<[^>+]+>/) { to = substr($0, RSTART + 1, RLENGTH - 2); if (to != at) tails[at] = tails[at] " " to }
/\trcall\t\.\+0/ { pushes[at] += 2 }
/\ticall/ { indirect[at] = 1 }
/\tin\tr28, 0x3d/ { framed[at] = 1 }
/\tsbiw\tr28, 0x/ { if (framed[at] && !(at in own)) { own[at] = 1; local[at] = hex($0) } }
/\tsubi\tr28, 0x/ { if (framed[at] && !(at in own)) { own[at] = 1; local[at] = hex($0) } }
function hex(text,  i, v, c) {
  match(text, /r28, 0x[0-9A-Fa-f]+/); text = tolower(substr(text, RSTART + 7, RLENGTH - 7)); v = 0
  for (i = 1; i <= length(text); i++) { c = index("0123456789abcdef", substr(text, i, 1)) - 1; v = v * 16 + c }
  return v
}
function frame(f) { return pushes[f] + local[f] }
function depth(f,  n, i, w, d, most, via) {
  if (f in done) return done[f]
  if (busy[f]) { print "recursion at " f > "/dev/stderr"; failed = 1; return 0 }
  busy[f] = 1; most = 0
  n = split(calls[f] (indirect[f] ? virtuals : ""), w, " ")
  for (i = 1; i <= n; i++) if (w[i] != f) { d = depth(w[i]) + 2; if (d > most) most = d }
  # A jump leaves the frame behind, but the pushes of this one may still stand: taken as a call without a return address.
  n = split(tails[f], w, " ")
  for (i = 1; i <= n; i++) { d = depth(w[i]); if (d > most) most = d }
  busy[f] = 0
  return done[f] = frame(f) + most
}
END {
  for (i = 1; i <= count; i++) if (order[i] ~ /^_ZN.*(AvrBoard|Wire)/ || order[i] ~ /^_ZTh/) virtuals = virtuals " " order[i]
  for (i = 1; i <= count; i++) if (order[i] ~ /^__vector_[0-9]+$/) { d = depth(order[i]) + 2; if (d > handler) handler = d }
  main = depth("main") + 2
  printf "Stack:     %d bytes at worst (%d in the program, %d in a handler)\n", main + handler, main, handler
  exit failed
}
