" Settings for rule packs.

if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal comments=:# commentstring=#\ %s
setlocal expandtab shiftwidth=2 softtabstop=2
setlocal foldmethod=indent foldlevel=99
" A name is one word, whatever it is made of.
setlocal iskeyword=@,48-57,.,_,/,-
setlocal formatoptions-=t
compiler cylfile

let b:undo_ftplugin = 'setlocal comments< commentstring< expandtab< shiftwidth< softtabstop< foldmethod< foldlevel<'
      \ . ' iskeyword< formatoptions< makeprg< errorformat<'
