;;; cyl-mode.el --- Records of breathing-air cylinders  -*- lexical-binding: t; -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "27.1"))
;; Keywords: languages, tools
;; SPDX-License-Identifier: MIT

;;; Commentary:

;; Major modes for records (*.cyl) and rule packs (*.cylpack) of cylfile: colors, comments, an index of
;; blocks, `M-x compile' with the lines of `cylfile lint', findings by flymake when the file is saved,
;; and an entry for eglot, which runs `cylfile serve' for findings as you type.

;;; Code:

(require 'flymake)
(require 'compile)

(defvar eglot-server-programs)

(defgroup cyl nil
  "Records of breathing-air cylinders."
  :group 'languages
  :prefix "cyl-")

(defcustom cyl-program "cylfile"
  "The cylfile program: its name, or the path of it."
  :type 'string)

;; The words of the languages; python editors/generate.py writes them.
;; words: header
(defconst cyl-header-words
  '(
    "visual sheet" "gauge sheet" "hydro sheet" "department" "fill sheet" "cylinder" "person"
    "recall" "sealed" "source" "tester" "waived" "site"))
;; end of words
;; words: property
(defconst cyl-property-words
  '(
    "expansion-limit" "test-pressure" "usual-source" "authorised" "authorized" "test-every"
    "cartridge" "inspects" "contact" "marked" "serial" "class" "fills" "holds" "liner" "maker"
    "owner" "rated" "rules" "kind" "life" "made" "zone" "ree" "tag"))
;; end of words
;; words: verb
(defconst cyl-verb-words
  '(
    "returned to service" "cartridge changed" "entered service" "out of service" "gauge checked"
    "life extended" "air sample" "condemned" "remarked" "serviced" "damaged" "emptied" "retired"
    "filled" "gauged" "visual" "hydro" "moved"))
;; end of words
;; words: value
(defconst cyl-value-words
  '(
    "overpressure" "compressor" "ultrasonic" "aluminium" "expansion" "to unread" "acoustic"
    "aluminum" "plastic" "storage" "slight" "strong" "proof" "steel" "fail" "heat" "none" "pass"
    "plus" "star" "air"))
;; end of words
;; words: clause
(defconst cyl-clause-words
  '(
    "particulate" "dew point" "permanent" "answered" "organics" "elastic" "method" "remark" "struck"
    "crack" "odour" "since" "total" "until" "water" "from" "late" "odor" "over" "CO2" "H2S" "for"
    "oil" "CO" "N2" "O2" "at" "by" "on" "to"))
;; end of words
;; words: pack_header
(defconst cyl-pack-header-words
  '(
    "setting" "suspend" "class" "level" "cite" "pack" "rule"))
;; end of words
;; words: pack_property
(defconst cyl-pack-property-words
  '(
    "hot-at-test-pressure" "crack-examination" "first-test-every" "expansion-limit"
    "gauge-allowance" "life-extendable" "star-test-every" "test-pressure" "until-emptied"
    "visual-every" "cycle-limit" "export-only" "from-permit" "test-factor" "count-from" "hot-factor"
    "ree-marked" "test-every" "to-the-day" "life-step" "plus-fill" "reference" "aluminum" "methods"
    "working" "advice" "breaks" "marked" "keeps" "rated" "cite" "life" "once" "over" "when" "hot"
    "say" "why" "on"))
;; end of words
;; words: place
(defconst cyl-place-words
  '(
    "returned to service" "entered service" "out of service" "storage filled" "storage status"
    "life extended" "air sample" "condemned" "remarked" "serviced" "damaged" "emptied" "retired"
    "filled" "gauged" "status" "visual" "hydro" "moved"))
;; end of words
;; words: pack_level
(defconst cyl-pack-level-words
  '(
    "caution" "warning" "danger" "notice"))
;; end of words
;; words: pack_operator
(defconst cyl-pack-operator-words
  '(
    "known" "and" "not" "or"))
;; end of words
;; words: pack_clause
(defconst cyl-pack-clause-words
  '(
    "cite" "none"))
;; end of words

(defface cyl-header '((t :inherit font-lock-keyword-face :weight bold)) "A word that opens a block.")
(defface cyl-property '((t :inherit font-lock-type-face)) "A property of a block.")
(defface cyl-verb '((t :inherit font-lock-function-name-face)) "What happened.")
(defface cyl-value '((t :inherit font-lock-constant-face)) "A word that stands for itself, such as `pass'.")
(defface cyl-clause '((t :inherit font-lock-keyword-face)) "A word that begins a clause.")
(defface cyl-date '((t :inherit font-lock-builtin-face)) "A day, a month or a time.")
(defface cyl-quantity '((t :inherit font-lock-constant-face)) "A number with its unit.")
(defface cyl-name '((t :inherit font-lock-variable-name-face)) "A name, or a fact of a pack.")
(defface cyl-struck '((t :inherit shadow :strike-through t)) "What is struck.")
(defface cyl-error '((t :inherit error)) "What cannot be right.")
(defface cyl-operator '((t :inherit font-lock-builtin-face)) "An operator of a pack.")
(defface cyl-expression '((t :inherit font-lock-variable-name-face)) "An expression in a text of a pack.")

(defun cyl--any (words)
  "An expression for any of WORDS, whatever blanks stand in a phrase."
  (concat "\\(?:" (mapconcat (lambda (word) (mapconcat #'regexp-quote (split-string word) "[ \t]+")) words "\\|") "\\)"))

(defconst cyl--number "[0-9]+\\(?:\\.[0-9]+\\)?")
(defconst cyl--day "[0-9]\\{4\\}-[0-9]\\{2\\}-[0-9]\\{2\\}")
(defconst cyl--text "\"\\(?:[^\"\\\n]\\|\\\\[\"\\]\\)*\"")

(defun cyl--open-text (limit)
  "Search up to LIMIT for a text that is not closed on its line."
  (let (found)
    (while (and (not found) (search-forward "\"" limit t))
      (unless (or (nth 8 (save-excursion (syntax-ppss (match-beginning 0))))
                  (get-text-property (match-beginning 0) 'syntax-table))
        (looking-at ".*")
        (set-match-data (list (1- (point)) (match-end 0)))
        (goto-char (match-end 0))
        (setq found t)))
    found))

(defconst cyl--figures
  `((,(concat "\\_<" cyl--day "\\_>\\|\\_<[0-9]\\{4\\}-[0-9]\\{2\\}\\_>") . 'cyl-date)
    ("\\_<[0-9]\\{2\\}:[0-9]\\{2\\}\\(?::[0-9]\\{2\\}\\)?\\_>" . 'cyl-date)
    ("\\_<[0-9]\\{1,3\\}\\(?:,[0-9]\\{3\\}\\)+\\_>" . 'cyl-error)
    (,(concat "\\_<" cyl--number "[ \t]*\\(?:psi\\|bar\\|MPa\\|kPa\\|mL\\|cc\\|in3\\|ft3\\|m3\\|min\\|ppm\\|mg/m3\\)\\_>")
     . 'cyl-quantity)
    (,(concat "\\_<" cyl--number "[ \t]+[FCLsh]\\_>") . 'cyl-quantity)
    (,(concat "\\_<-" cyl--number "[ \t]+[FC]\\_>") . 'cyl-quantity)
    (,(concat "\\_<-?" cyl--number "[ \t]*°[FC]\\_>") . 'cyl-quantity)
    (,(concat "\\_<" cyl--number "[ \t]*%") . 'cyl-quantity)
    ("\\_<[0-9]+[ \t]+\\(?:years?\\|entries\\)\\_>" . 'cyl-quantity)))

(defconst cyl--struck
  (concat "^[ \t]*\\([^\"# \t\n]\\(?:[^\"#\n]\\|" cyl--text "\\)*?\\)[ \t]+struck[ \t]+" cyl--day "\\_>")
  "A line up to its `struck' clause, as one line through it would go.")

(defconst cyl--property (concat "^[ \t]+\\(" (cyl--any cyl-property-words) "\\)\\_>"))
(defconst cyl--name "\\_<[A-Za-z0-9][A-Za-z0-9._/-]*")

(defconst cyl--sentence
  `(,@cyl--figures
    ("\\_<\\(?:[0-9]\\{1,2\\}[/.][0-9]\\{1,2\\}[/.][0-9]\\{4\\}\\|[0-9]\\{4\\}[/.][0-9]\\{1,2\\}[/.][0-9]\\{1,2\\}\\)\\_>"
     . 'cyl-error)
    ("\\_<[0-9]\\{4\\}-\\(?:[0-9]-[0-9]\\{1,2\\}\\|[0-9]\\{2\\}-[0-9]\\)\\_>" . 'cyl-error)
    ("\\_<[0-9]\\{1,2\\}:[0-9]\\{1,2\\}\\(?::[0-9]\\{1,2\\}\\)?\\_>" . 'cyl-error)
    (cyl--open-text . 'cyl-error)
    ("[^ \t\n\"#]*[^- \t\n\"#A-Za-z0-9._/°%:,][^ \t\n\"#]*" . 'cyl-error)
    (,(concat "\\_<" (cyl--any cyl-verb-words) "\\_>") . 'cyl-verb)
    (,(concat "\\_<" (cyl--any cyl-value-words) "\\_>") . 'cyl-value)
    (,(concat "\\_<" (cyl--any cyl-clause-words) "\\_>") . 'cyl-clause)
    (,cyl--name . 'cyl-name)))

(defconst cyl-font-lock-keywords
  `(("^\\(?:<\\{7\\}\\|=\\{7\\}\\|>\\{7\\}\\||\\{7\\}\\)\\(?: .*\\)?$" . 'cyl-error)
    (,cyl--struck 1 'cyl-struck t)
    (,(concat "^" (cyl--any cyl-header-words) "\\_>") . 'cyl-header)
    (,cyl--property 1 'cyl-property)
    ,@cyl--sentence)
  "Colors of records.")

(defvar cyl-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    ;; A text ends on its line, so a quotation mark is one only in a pair; see `cyl--propertize'.
    (modify-syntax-entry ?\" "." table)
    (modify-syntax-entry ?\\ "\\" table)
    (dolist (character '(?. ?_ ?/ ?-))
      (modify-syntax-entry character "_" table))
    (dolist (character '(?% ?° ?: ?, ?< ?> ?= ?+ ?* ?! ?& ?|))
      (modify-syntax-entry character "." table))
    table)
  "Syntax of records: names are symbols, whatever they are made of.")

(defconst cyl--propertize
  (syntax-propertize-rules ("\\(\"\\)\\(?:[^\"\\\n]\\|\\\\[\"\\]\\)*\\(\"\\)" (1 "|") (2 "|"))))

(defconst cyl--line "^\\(.+?\\):\\([0-9]+\\):\\([0-9]+\\): %s: \\(.*\\)$")

(defconst cyl--levels '(("danger" 2 :error) ("warning" 1 :warning) ("caution" 1 :warning) ("notice" 0 :note))
  "Level of a finding, its kind for `compile', and its kind for flymake.")

(dolist (level cyl--levels)
  (let ((name (intern (concat "cylfile-" (car level)))))
    (add-to-list 'compilation-error-regexp-alist name)
    (add-to-list 'compilation-error-regexp-alist-alist
                 (list name (format cyl--line (car level)) 1 2 3 (nth 1 level)))))

(defvar-local cyl--process nil "The lint that runs for this buffer.")

(defun cyl-flymake (report &rest _)
  "Judge the record on disk and REPORT what is said of this file in it."
  (unless (executable-find cyl-program)
    (error "There is no program %s" cyl-program))
  (when (process-live-p cyl--process)
    (kill-process cyl--process))
  (let ((buffer (current-buffer)))
    (setq cyl--process
          (make-process
           :name "cylfile" :noquery t :connection-type 'pipe
           :buffer (generate-new-buffer " *cylfile lint*")
           :command (list cyl-program "lint" "--as" "lines" (file-local-name (buffer-file-name)))
           :sentinel
           (lambda (process _)
             (when (memq (process-status process) '(exit signal))
               (unwind-protect
                   (when (and (buffer-live-p buffer) (eq process (buffer-local-value 'cyl--process buffer)))
                     (funcall report (cyl--diagnostics buffer (process-buffer process))))
                 (kill-buffer (process-buffer process)))))))))

(defun cyl--diagnostics (buffer output)
  "What the lines of lint in the buffer OUTPUT say of the file of BUFFER."
  (let ((file (file-truename (buffer-file-name buffer))) found)
    (with-current-buffer output
      (dolist (level cyl--levels)
        (goto-char (point-min))
        (while (re-search-forward (format cyl--line (car level)) nil t)
          (let ((name (match-string 1)) (line (string-to-number (match-string 2)))
                (column (string-to-number (match-string 3))) (text (match-string 4)))
            (when (string= file (file-truename (expand-file-name name)))
              (let ((region (flymake-diag-region buffer line column)))
                (push (flymake-make-diagnostic buffer (car region) (cdr region) (nth 2 level) text) found)))))))
    found))

(defun cyl--set-up ()
  "What both modes have in common."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local indent-tabs-mode nil)
  (setq-local tab-width 2)
  (setq-local indent-line-function #'indent-relative)
  (setq-local syntax-propertize-function cyl--propertize)
  (setq-local compile-command (concat cyl-program " lint --as lines"))
  (add-hook 'flymake-diagnostic-functions #'cyl-flymake nil t))

;;;###autoload
(define-derived-mode cyl-mode prog-mode "Cylinder"
  "Major mode for records of breathing-air cylinders."
  :syntax-table cyl-mode-syntax-table
  (cyl--set-up)
  (setq-local font-lock-defaults '(cyl-font-lock-keywords))
  (setq-local outline-regexp "[a-z0-9]")
  (setq-local imenu-generic-expression
              (mapcar (lambda (word) (list word (concat "^" word "[ \t]+\\([A-Za-z0-9][A-Za-z0-9._/-]*\\)") 1))
                      '("cylinder" "source" "person" "site" "tester"))))

;; Rule packs. A property goes on with the lines that stand further in; under `breaks' and `keeps'
;; these are a record.

(defun cyl-pack--place ()
  "What the line at point is: `header', `property', `continued' or `example'."
  (save-excursion
    (forward-line 0)
    (let ((indent (current-indentation)) (depth 0) place)
      (when (= indent 0)
        (setq place 'header))
      (while (and (not place) (= 0 (forward-line -1)))
        (unless (or (looking-at "[ \t]*\\(?:#.*\\)?$") (>= (current-indentation) indent))
          (setq indent (current-indentation))
          (cond ((looking-at "[ \t]+\\(?:breaks\\|keeps\\)\\_>") (setq place 'example))
                ((= indent 0) (setq place (if (= depth 0) 'property 'continued))))
          (setq depth (1+ depth))))
      (or place 'continued))))

(defun cyl-pack--where (matcher &rest places)
  "MATCHER, a function or an expression, kept to the lines that are one of PLACES."
  (lambda (limit)
    (let (found)
      (while (and (not found)
                  (if (functionp matcher) (funcall matcher limit) (re-search-forward matcher limit t)))
        (setq found (save-match-data
                      (save-excursion (goto-char (match-beginning 0)) (memq (cyl-pack--place) places)))))
      found)))

(defun cyl-pack--brace (limit)
  "Search up to LIMIT for an expression in a text."
  (let (found)
    (while (and (not found) (re-search-forward "{[^{}\"\n]*}" limit t))
      (setq found (nth 3 (save-match-data (save-excursion (syntax-ppss (match-beginning 0)))))))
    found))

(defconst cyl-pack-font-lock-keywords
  `((cyl-pack--brace 0 'cyl-expression t)
    (,(concat "^" (cyl--any cyl-pack-header-words) "\\_>") . 'cyl-header)
    (,(cyl-pack--where (concat "^[ \t]+\\(" (cyl--any cyl-pack-property-words) "\\)\\_>") 'property) 1 'cyl-property)
    ;; A record under a rule.
    (,(cyl-pack--where cyl--struck 'example) 1 'cyl-struck t)
    (,(cyl-pack--where (concat "^[ \t]+\\(" (cyl--any cyl-header-words) "\\)\\_>") 'example) 1 'cyl-header)
    (,(cyl-pack--where cyl--property 'example) 1 'cyl-property)
    ,@(mapcar (lambda (rule) (cons (cyl-pack--where (car rule) 'example) (cdr rule))) cyl--sentence)
    ;; All else.
    ,@cyl--figures
    (,(concat "\\_<" cyl--number "[ \t]*\\(?:psi\\|bar\\)/min\\_>") . 'cyl-quantity)
    ("\\_<[0-9]+[ \t]+\\(?:months?\\|days?\\)\\_>" . 'cyl-quantity)
    ("\\_<[0-9]+\\(?:/[1-9][0-9]*\\|\\.[0-9]+\\)?\\_>" . 'cyl-quantity)
    (cyl--open-text . 'cyl-error)
    (,(cyl-pack--where (concat "\\_<" (cyl--any cyl-place-words) "\\_>") 'header 'property 'continued) . 'cyl-verb)
    (,(concat "\\_<" (cyl--any cyl-pack-level-words) "\\_>") . 'cyl-value)
    (,(concat "\\_<" (cyl--any cyl-pack-operator-words) "\\_>") . 'cyl-operator)
    (,(concat "\\_<" (cyl--any cyl-pack-clause-words) "\\_>") . 'cyl-clause)
    (,cyl--name . 'cyl-name)
    ("<=\\|>=\\|!=\\|[<>=+*/(),-]" . 'cyl-operator)
    ("[^ \t\n\"#]+" . 'cyl-error))
  "Colors of rule packs.")

;;;###autoload
(define-derived-mode cyl-pack-mode prog-mode "Cylinder-Pack"
  "Major mode for rule packs of cylfile."
  :syntax-table cyl-mode-syntax-table
  (cyl--set-up)
  (setq-local font-lock-defaults '(cyl-pack-font-lock-keywords))
  (setq-local imenu-generic-expression
              (mapcar (lambda (word) (list word (concat "^" word "[ \t]+\\([A-Za-z0-9][A-Za-z0-9._/-]*\\)") 1))
                      '("rule" "class" "setting"))))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.cyl\\'" . cyl-mode))
;;;###autoload
(add-to-list 'auto-mode-alist '("\\.cylpack\\'" . cyl-pack-mode))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs `((cyl-mode cyl-pack-mode) . (,cyl-program "serve"))))

(provide 'cyl-mode)
;;; cyl-mode.el ends here
