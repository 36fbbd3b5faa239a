" Records and rule packs by the ends of their names. The content is never looked at: git, too, has
" files that end in .cylpack, and nobody opens those.
autocmd BufNewFile,BufRead *.cyl setfiletype cyl
autocmd BufNewFile,BufRead *.cylpack setfiletype cylpack
