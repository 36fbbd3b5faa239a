" `:compiler cylfile`, then `:make`, fills the quickfix list with the findings of the record that the file belongs to.

if exists('current_compiler')
  finish
endif
let current_compiler = 'cylfile'

CompilerSet makeprg=cylfile\ lint\ --as\ lines\ %:p:h:S
CompilerSet errorformat=%E%f:%l:%c:\ danger:\ %m,%W%f:%l:%c:\ warning:\ %m,%W%f:%l:%c:\ caution:\ %m,%I%f:%l:%c:\ notice:\ %m,%-G%.%#
